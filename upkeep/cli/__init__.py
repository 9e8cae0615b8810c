"""The command line. Each command's module is imported only when it runs."""

from __future__ import annotations

import sys
from importlib import import_module
from io import TextIOWrapper
from typing import Any

import click

from upkeep import __version__

COMMANDS = {
    "new": ("start", "Make a fleet folder with one vessel to describe."),
    "check": ("check", "Name every problem of a fleet, and what looks wrong as installed."),
    "due": ("due", "List the tasks by date, late ones first."),
    "why": ("why", "Explain one task's date: every limit, reading and source behind it."),
    "kinds": ("kinds", "Print what the catalogue knows of one kind, or of all."),
    "done": ("record", "Record work done, or take an entry back."),
    "read": ("record", "Record a reading."),
    "log": ("record", "List what is recorded, and what was taken back."),
    "import": ("exchange", "Take in old records, or another logbook's export."),
    "export": ("exchange", "Write the logbook out, entry by entry."),
    "feed": ("feed", "Write the calendars, or say how two of them differ."),
    "handbook": ("handbook", "Write the handbook of each vessel as HTML and PDF."),
    "publish": ("publish", "Write everything that changed, with an index page."),
}


_TAKEN = ("import", "export")  # a word of the language, and a function's name


class _LateGroup(click.Group):
    """A group that knows its commands' names and imports none before it must."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"upkeep.cli.{COMMANDS[cmd_name][0]}")
        name = f"{cmd_name}_" if cmd_name in _TAKEN else cmd_name
        command: click.Command = getattr(module, name)
        command.short_help = command.help = COMMANDS[cmd_name][1]
        return command

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from upkeep.schema import nearest

            near = nearest(args[0], tuple(COMMANDS))
            hint = f" Did you mean {near}?" if near else ""
            ctx.fail(f"There is no command {args[0]}.{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])

    def invoke(self, ctx: click.Context) -> Any:
        from upkeep.errors import UpkeepError

        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, TextIOWrapper):
                stream.reconfigure(errors="replace")  # a console may lack an arrow or a degree
        try:
            return super().invoke(ctx)
        except UpkeepError as error:
            click.echo(f"walkround: {error}", err=True)
            sys.exit(error.exit_code)
        except BrokenPipeError:
            sys.exit(1)
        except OSError as error:
            click.echo(f"walkround: {error.strerror}: the disk or the output refuses", err=True)
            sys.exit(1)


@click.group(cls=_LateGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="walkround")
def main() -> None:
    """Tell when each task on a boat falls due, and why.

    From one record per vessel: a calendar to subscribe to, a handbook to print and sign.
    """
