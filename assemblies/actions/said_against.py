"""Asking the database which decisions a rule spoke up in, on either database."""

from __future__ import annotations

from django.db.models import BooleanField, Func, Value

from assemblies.rules.override_rate import CAUTIONS

_LEVELS = ", ".join(f"'{level}'" for level in sorted(CAUTIONS))


class SaidAgainst(Func):
    """True where `code` stands among frozen findings at a level that is no MATCH.

    The findings are kept as JSON; each database has its own way to walk through a list.
    """

    output_field = BooleanField()

    def __init__(self, findings: str, code: str) -> None:
        super().__init__(findings, Value(code))

    def as_sqlite(self, compiler, connection, **more):
        return self._exists(
            compiler,
            "json_each({}) AS said",
            "json_extract(said.value, '$.code')",
            "json_extract(said.value, '$.level')",
        )

    def as_postgresql(self, compiler, connection, **more):
        return self._exists(
            compiler,
            "jsonb_array_elements({}) AS said(value)",
            "said.value ->> 'code'",
            "said.value ->> 'level'",
        )

    def _exists(self, compiler, rows: str, code: str, level: str) -> tuple[str, list]:
        findings, code_asked = self.get_source_expressions()
        column, column_params = compiler.compile(findings)
        value, value_params = compiler.compile(code_asked)
        where = f"{code} = {value} AND {level} IN ({_LEVELS})"
        sql = f"EXISTS (SELECT 1 FROM {rows.format(column)} WHERE {where})"
        return sql, [*column_params, *value_params]
