"""All commands under one name, and what becomes of whatever they raise."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

from optimizer.commands import failures, interrupts, output
from optimizer.commands.exit_codes import CANNOT_WRITE, INTERRUPTED
from optimizer.commands.streams import UnprintableError, guarded_streams

# What each command says of itself in the list of all, which loads none of them; each stands in the module of its name.
COMMANDS = {
    "pick": "Pick the cheapest bundles that meet every limit of a job, proven to the cent.",
    "why": (
        "Explain the cheapest bundle: which limits bind, what each costs, and which prices and inputs would change it."
    ),
    "afford": "What a budget buys: the exact staircase of cost against sunless days, water, spare watts, hours short.",
    "measure": "Work out the [[load]] block of a job from what is at hand; whatever is not known may be left out.",
    "audit": "Judge bundles by every limit of a job, with the working of each limit that fails.",
    "refresh": "Answer every job below a folder again, keep each answer beside its job, and tell what became of it.",
    "prices": "Compare two price lists: parts new, gone, dearer, cheaper, out of stock; the largest moves first.",
    "replay": "Go through every hour of a job's weather file with bundles, side by side: hours short, when, and why.",
    "sun": (
        "Show a weather file's sun on a plane: its months, its darkest days, and which tilt serves the darkest month"
        " best."
    ),
    "new": "Make a folder with a job file to fill in and a copy of the shipped catalogue.",
    "limits": "List every limit: its name, meaning, kind and source.",
    "catalog": "Check a catalogue, list its parts, explain its columns.",
}
Plain = partial(typer.Typer, add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)


class Commands(TyperGroup):
    """All commands by name. The module of one is loaded when it is run, or asked for its own help."""

    def __init__(self, **given: Any) -> None:  # whatever the library makes a group of
        super().__init__(**given)
        self.commands = {name: TyperCommand(name, help=says) for name, says in COMMANDS.items()}

    def resolve_command(self, *given: Any) -> Any:  # the library's contexts are its own
        """The name, the command itself in place of what stands for it in the list, and the words that are left."""
        name, _, rest = super().resolve_command(*given)
        with failures.guarded():
            return name, name and _loaded(name), rest


def _loaded(name: str) -> Any:
    """A command, or a group of them, as the library runs it."""
    found = getattr(import_module(f"optimizer.commands.{name}"), name)
    if not isinstance(found, typer.Typer):
        alone = Plain()
        alone.command(name)(found)
        found = alone
    return typer.main.get_command(found)


app = Plain(
    name="borewatt", cls=Commands,
    help="The cheapest proven set of panels, converter and battery bank for loads that start hard.",
)  # fmt: skip


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
