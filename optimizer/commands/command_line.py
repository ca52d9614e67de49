"""All commands under one name, and what becomes of whatever they raise."""

from __future__ import annotations

import typer

from optimizer.commands import catalog as catalog_commands
from optimizer.commands import failures, interrupts, output
from optimizer.commands.afford import afford
from optimizer.commands.audit import audit
from optimizer.commands.exit_codes import CANNOT_WRITE, INTERRUPTED
from optimizer.commands.limits import limits
from optimizer.commands.measure import measure
from optimizer.commands.new import new
from optimizer.commands.pick import pick
from optimizer.commands.prices import prices
from optimizer.commands.refresh import refresh
from optimizer.commands.streams import UnprintableError, guarded_streams
from optimizer.commands.sun import sun
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
app.command("sun")(sun)
app.command("new")(new)
app.command("limits")(limits)
app.add_typer(catalog_commands.app)


@app.callback(invoke_without_command=True)
def begin(context: typer.Context) -> None:
    """The cheapest proven set of panels, converter and battery bank for loads that start hard."""
    if context.invoked_subcommand is None:
        from optimizer.writing.words.sentences import BEGIN

        output.say(f"{BEGIN}\n")


def run() -> int:
    """Run the command that was typed; its exit code."""
    with guarded_streams():
        try:
            app()
        except SystemExit as end:
            return end.code if isinstance(end.code, int) else 0
        except KeyboardInterrupt:
            return INTERRUPTED
        except UnprintableError as error:  # the help of a command
            failures.complain(failures.unprintable_words(error))
            return CANNOT_WRITE
        except Exception as error:  # whatever else goes wrong is ours; people get its place, not a traceback
            return INTERRUPTED if interrupts.came() else failures.fault_report(error)
    return 0
