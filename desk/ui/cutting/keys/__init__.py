"""Cutting by key and menu."""
