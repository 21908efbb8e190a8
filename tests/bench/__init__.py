"""Measurements, run by hand: ``python -m tests.bench NAME``. Figures are ratios, not promises."""
