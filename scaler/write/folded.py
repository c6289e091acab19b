"""x"""
FOLDED: dict[str, frozenset[str]] = {}
