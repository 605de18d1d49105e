"""The example shop: an invented firm, built through the same actions as a real one."""
