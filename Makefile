# Short names for dev.py, which also works where there is no make.
PYTHON ?= python3

.PHONY: setup run test check bench lock clean

setup run check bench lock:
	@$(PYTHON) dev.py $@

test:
	@$(PYTHON) dev.py test $(ARGS)

# The data folder stays: it may hold a shop's records.
clean:
	@rm -rf .venv staticfiles .pytest_cache .ruff_cache .hypothesis .import_linter_cache
	@find . -name __pycache__ -type d -prune -exec rm -rf {} +
