"""Tests of the two renderers and of the proof of cautions."""
