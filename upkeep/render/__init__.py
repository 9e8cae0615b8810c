"""Renderers: floor 7."""
