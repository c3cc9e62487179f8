"""Figures from outside: what others published, each held against what the package gives."""
