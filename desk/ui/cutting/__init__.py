"""Cutting a scene: its lanes, its footage, the clip sheet, and their commands."""
