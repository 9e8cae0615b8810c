"""Engineering models behind the clocks: how batteries, raw water, anodes and run-hours behave.

Every number a model is given is checked and never clipped; every result plans work and
none certifies safety. Each function names its source or points to its module's: an excerpt of
it was read, unless marked MEMORY (known, not read again), "common practice, no source", or
"ours". Authorities known by a trade page's account alone say so, and weak ones are called weak.
"""
