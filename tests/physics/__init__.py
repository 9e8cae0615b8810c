"""Tests of the physics floor."""
