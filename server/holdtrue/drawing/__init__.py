"""Drawings as SVG text: one drawing language for phone, plan, review and label. Pure."""
