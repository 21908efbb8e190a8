"""Installs played by the product's own rules, with errors of stated sizes."""
