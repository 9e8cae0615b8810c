"""Engineering models behind the clocks: how batteries, raw water, anodes and run-hours behave.

Every number a model is given is checked and never clipped; every result plans work and
none certifies safety. Sources stand in each module.
"""
