"""The command ``leakback`` and the commands under it."""

import click

from analytics.cli.answer_commands import fit, flags, measure
from analytics.cli.dashboard_commands import dashboard, demo
from analytics.cli.money_commands import reserve
from analytics.cli.record_commands import load, rejects, template, undo

ABOUT = """What a metre of injected crack costs, which repairs leak back, which coming jobs need an engineer first.

\b
See it:      leakback demo
Your files:  leakback template my-files, fill them in, leakback load my-files
"""


@click.group(help=ABOUT, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="leakback")
def leakback() -> None:
    """The command line."""


for command in (load, rejects, undo, measure, fit, flags, reserve, dashboard, demo, template):
    leakback.add_command(command)
