"""``borewatt measure``: from what is at hand, a clamp meter, a nameplate or a drum, to the load of a job."""

from __future__ import annotations

from typing import Annotated

import typer

from optimizer import answers
from optimizer.commands import failures, output
from optimizer.vocabulary.problems import InputError

Text = str | None


def measure(
    context: typer.Context,
    name: Annotated[Text, typer.Option(metavar="TEXT", help="What the load is called.")] = None,
    voltage: Annotated[Text, typer.Option(metavar='"240 V"', help="Volts it runs on.")] = None,
    running: Annotated[
        Text, typer.Option(metavar='"8.1 A"', help="Amps by a clamp meter while it runs; or W, VA.")
    ] = None,
    inrush: Annotated[
        Text, typer.Option(metavar='"41 A"', help="Amps at the start, by a clamp meter that holds them; or VA.")
    ] = None,
    locked_rotor: Annotated[
        Text, typer.Option(metavar='"39 A"', help="Locked-rotor amps or VA on the nameplate.")
    ] = None,
    code_letter: Annotated[Text, typer.Option(metavar="H", help="Code letter on the nameplate; with --rated.")] = None,
    rated: Annotated[Text, typer.Option(metavar='"1.5 hp"', help="Rated power on the nameplate; or kW.")] = None,
    power_factor: Annotated[Text, typer.Option(metavar="0.8", help="Power factor while it runs.")] = None,
    motor: Annotated[Text, typer.Option(metavar="KIND", help="two-wire, three-wire, psc or three-phase.")] = None,
    container: Annotated[Text, typer.Option(metavar='"20 L"', help="A drum that was filled; with --seconds.")] = None,
    seconds: Annotated[Text, typer.Option(metavar='"32 s"', help="How long the drum took to fill.")] = None,
    flow: Annotated[Text, typer.Option(metavar='"38 L/min"', help="The flow, in place of those two.")] = None,
    water_per_day: Annotated[Text, typer.Option(metavar='"9000 L"', help="Water pumped in a day.")] = None,
    level: Annotated[
        Text, typer.Option(metavar='"60 m"', help="Depth of the water below ground while it pumps.")
    ] = None,
    rise: Annotated[Text, typer.Option(metavar='"5 m"', help="Height of the outlet above the well.")] = None,
    pressure: Annotated[
        Text, typer.Option(metavar='"50 psi"', help="Pressure kept at the outlet; or kPa, bar.")
    ] = None,
    pipe_length: Annotated[Text, typer.Option(metavar='"75 m"', help="All pipe from pump to outlet.")] = None,
    pipe_inside: Annotated[Text, typer.Option(metavar='"32 mm"', help="Inside diameter of the pipe.")] = None,
    pipe_roughness: Annotated[
        Text, typer.Option(metavar="C", help="Hazen-Williams C; 150 for plastic where none is given.")
    ] = None,
    pump_efficiency: Annotated[
        Text, typer.Option(metavar="0.50", help="For an estimate where nothing was clamped: the pump's share.")
    ] = None,
    motor_efficiency: Annotated[Text, typer.Option(metavar="0.70", help="Likewise the motor's share.")] = None,
) -> None:
    """Work out the [[load]] block of a job from what is at hand; whatever is not known may be left out.

    Every figure carries its unit. Figures that should agree are held against each other. Exit code 0: worked out; 2:
    a reading is wrong.
    """
    with failures.guarded():
        from optimizer.writing.text.measure import measured_page, wrong_readings

        try:
            measured = answers.measure(**context.params)  # the options by their names, as they stand above
        except InputError as error:
            failures.refuse(wrong_readings(error.problems))
        output.say(measured_page(measured))
