"""The command line: one short file a command; what a command needs is loaded when it runs."""

from __future__ import annotations

import contextlib
import sys

import typer

from optimizer.commands import catalog as catalog_commands
from optimizer.commands import failures, interrupts
from optimizer.commands.afford import afford
from optimizer.commands.audit import audit
from optimizer.commands.exit_codes import INTERRUPTED
from optimizer.commands.limits import limits
from optimizer.commands.measure import measure
from optimizer.commands.new import new
from optimizer.commands.pick import pick
from optimizer.commands.prices import prices
from optimizer.commands.refresh import refresh
from optimizer.commands.why import why

app = typer.Typer(
    name="borewatt", add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False,
    help="The cheapest proven set of panels, converter and battery bank for loads that start hard.",
)  # fmt: skip
app.command("pick")(pick)
app.command("why")(why)
app.command("afford")(afford)
app.command("measure")(measure)
app.command("audit")(audit)
app.command("refresh")(refresh)
app.command("prices")(prices)
app.command("new")(new)
app.command("limits")(limits)
app.add_typer(catalog_commands.app)


@app.callback(invoke_without_command=True)
def begin(context: typer.Context) -> None:
    """The cheapest proven set of panels, converter and battery bank for loads that start hard."""
    if context.invoked_subcommand is None:
        from optimizer.writing.words.sentences import BEGIN

        typer.echo(BEGIN)


def main() -> None:
    """Run the command line."""
    try:
        interrupts.watch()
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(AttributeError):  # a stream that was replaced may not know how
                stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a narrow console still shows a title
        app()
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    except Exception as error:  # whatever else goes wrong is ours; people get its place, not a traceback
        sys.exit(INTERRUPTED if interrupts.came() else failures.fault_report(error))
