"""Tests of what people may write wrongly in a fleet's folder."""
