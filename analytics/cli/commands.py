"""The command ``leakback`` and the commands under it."""

import click

from analytics.cli.answer_commands import fit, flags, measure
from analytics.cli.compare_commands import compare
from analytics.cli.crew_commands import crews
from analytics.cli.dashboard_commands import dashboard, demo
from analytics.cli.keeping_commands import backup, check, history, restore, upgrade
from analytics.cli.map_commands import map_columns, warnings
from analytics.cli.money_commands import prices, reserve, scenario
from analytics.cli.paper_commands import referral, report, sheet
from analytics.cli.people_commands import people
from analytics.cli.policy_commands import policy
from analytics.cli.privacy_commands import extract, privacy
from analytics.cli.quality_commands import loads, quality
from analytics.cli.quote_commands import quote
from analytics.cli.reader import for_people
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


KEEPING = (backup, restore, check, history, upgrade)
RECORDS = (loads, quality, privacy, extract)

for command in (
    load,
    map_columns,
    rejects,
    warnings,
    undo,
    measure,
    compare,
    crews,
    fit,
    flags,
    quote,
    prices,
    scenario,
    reserve,
    sheet,
    referral,
    report,
    dashboard,
    demo,
    template,
    policy,
    *KEEPING,
    *RECORDS,
    people,
):
    leakback.add_command(for_people(command))
