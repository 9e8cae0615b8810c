"""Lets `python -m upkeep` do what `walkround` does."""

from upkeep.cli import main

main(prog_name="walkround")
