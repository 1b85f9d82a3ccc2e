"""docs/commands.md: the help of every command, as `headrace COMMAND --help` prints it."""

from pathlib import Path

import click

from generators.markdown import made
from headrace.doors.cli import cli

WIDTH = 100
INTRO = """\
`headrace COMMAND --help` prints the same. Exit codes of every command: 0 done; 1 done, but a *stop* stands or a
question is open; 2 the input or the command must be mended; 3 a fault of ours, with where its details were saved.
"""


def page(_: Path) -> str:
    """The page."""
    settings = {
        "help_option_names": ["--help"],
        **cli.context_settings,
        "terminal_width": WIDTH,
        "max_content_width": WIDTH,
    }
    context = click.Context(cli, info_name="headrace", **settings)
    parts = [INTRO, _block(context)]
    for name in cli.list_commands(context):
        command = cli.get_command(context, name)
        if command is None or command.hidden:
            continue
        inner = click.Context(
            command, info_name=name, parent=context, terminal_width=WIDTH, max_content_width=WIDTH
        )
        parts += [f"## headrace {name}", _block(inner)]
    return made("Commands", *parts)


def _block(context: click.Context) -> str:
    return f"```text\n{context.get_help().rstrip()}\n```"
