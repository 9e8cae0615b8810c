"""Clocks: each turns an anchor and a limit into the last day on which the limit is not passed."""
