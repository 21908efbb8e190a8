"""Thin views: read a form, hand it over, show what came of it."""
