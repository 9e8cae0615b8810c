"""The catalogue: kinds, rules, cautions, sources and the book's own texts, as TOML beside this."""

from upkeep.catalogue.load import load_builtin, load_catalogue

__all__ = ["load_builtin", "load_catalogue"]
