"""Tests of the catalogue that ships with the tool."""
