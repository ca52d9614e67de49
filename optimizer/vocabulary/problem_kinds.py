"""The closed list of kinds of problem: id, title, why, and the templates that only writing fills."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class ProblemKind:
    """One kind of problem. ``title`` stands alone; ``expected`` and ``mend`` are templates with named slots."""

    id: str
    title: str
    why: str
    expected: str
    mend: str


_LIST = (
    # the file as a whole
    ProblemKind("missing-folder", "the folder is not there", "A catalogue is a folder of CSV files.",
         "Expected a folder with {files}.", "Name the folder that holds them."),
    ProblemKind("empty-folder", "the folder holds no catalogue", "A catalogue is a folder of CSV files.",
         "Expected {files} in this folder; none of them is here.", "Name the folder that holds them."),
    ProblemKind("missing-file", "a file is missing", "Every bundle needs a part from this file.",
         "Expected the file {file}.", "Add it, with the columns {columns}."),
    ProblemKind("unreadable-file", "the file cannot be opened", "The system refused to read it.",
         "Expected a file that can be read; the system says: {reason}.", "Check its name and its permissions."),
    ProblemKind("unwritable-file", "the file cannot be written", "The system refused to write it.",
         "Expected a file that can be written; the system says: {reason}.", "Check the folder and its permissions."),
    ProblemKind("empty-file", "the file is empty", "A file without a heading row says nothing.",
         "Expected {content}.", "Fill the file or remove it; if it should be full, fetch it again."),
    ProblemKind("not-utf8", "the file is not UTF-8 text", "Another encoding would turn names and signs into others.",
         "Expected UTF-8 text; this looks like {encoding}.", "Save it again with the encoding UTF-8."),
    ProblemKind("not-commas", "the cells are not separated by commas", "Semicolons go with decimal commas, which would "
         "be read as other figures.",
         "Expected commas between cells and a decimal point in figures; this file has {separator} between "
         "cells{comma}.",
         "In the spreadsheet choose Save as, CSV, with the comma as separator and the decimal point (an English "
         "locale does both)."),
    ProblemKind("too-large", "the file is far too large", "A job is a page of text.",
         "Expected at most {most} bytes; there are {size}.", "Check that this is the file you mean."),
    # headings and rows
    ProblemKind("missing-column", "a column is missing", "The rules cannot do without it.",
         "Expected a column {column}: {meaning}.", "Add the column {column} to the heading row and fill it."),
    ProblemKind("unknown-column", "a heading is close to a known one", "Ignored, it would silently be taken as not stated.",
         "Close to {closest}, and not read as it.", "Rename the heading to {closest}, or to something else."),
    ProblemKind("doubled-column", "two columns have one heading", "Nobody can say which of them counts.",
         "Expected {column} once; it stands in columns {columns}.", "Keep one of them and remove the other."),
    ProblemKind("ragged-row", "a row has too few or too many cells", "Its figures may stand under the wrong headings.",
         "Expected {expected} cells, as in the heading row; this row has {found}.",
         "Count its commas; put double quotes round a text that contains a comma."),
    ProblemKind("open-quote", "quotation marks do not pair", "What follows would be read as one text.",
         "Expected every opening double quote to be closed before the next comma.",
         "Close the quote, or write each double quote inside a text twice."),
    # cells
    ProblemKind("long-cell", "a cell is far too long", "No figure, name or note is that long.",
         "Expected at most {most} characters; this has {length}.", "Shorten it; look for a quote that was not closed."),
    ProblemKind("missing-value", "a required cell is empty", "Empty means not stated, never zero.",
         "Expected {meaning}.", "Write it in, or remove the row."),
    ProblemKind("not-a-number", "a cell is not a number", "The rules reckon with it.",
         "Expected a plain number{unit}: {meaning}.", "Write digits with a decimal point only, without unit or text."),
    ProblemKind("decimal-comma", "a number has a comma", "A comma may mean a decimal or a thousand.",
         "Expected a number with a point: {pointed}.", "Write a decimal point, and no separator between thousands."),
    ProblemKind("not-finite", "a number is not finite", "No rule can reckon with it.",
         "Expected a finite number: {meaning}.", "Write the figure, or leave it out where that is allowed."),
    ProblemKind("not-whole", "a number is not whole", "It counts things.",
         "Expected a whole number: {meaning}.", "Write it without a fraction."),
    ProblemKind("out-of-range", "a number is out of range", "No real value lies there; often the unit is another one.",
         "Expected {range}: {meaning}.", "Check the figure and its unit."),
    ProblemKind("unknown-value", "a value is not one of those known", "A rule depends on which it is.",
         "Expected one of {choices}.", "Write one of them{perhaps}."),
    ProblemKind("not-a-date", "a date is not an ISO date", "Day and month are easily taken for each other.",
         "Expected year-month-day, as in 2026-10-01.", "Write the date in that order with hyphens."),
    ProblemKind("not-a-currency", "a currency is not a three-letter code", "Prices of two currencies cannot be added.",
         "Expected three capital letters, as in USD.", "Write the currency's code."),
    ProblemKind("not-cents", "an amount has more than two decimals", "Money is counted in whole cents.",
         "Expected at most two decimals.", "Round it to cents, or state the price of a larger piece."),
    ProblemKind("too-fine", "a figure has too many decimals", "What is reckoned with it must come out exact.",
         "Expected at most {decimals} decimals.", "Round it."),
    ProblemKind("columns-disagree", "figures of one row contradict each other", "One of them is wrong, and a rule uses it.",
         "Expected {rule} ({name}); this row has {values}.", "Compare these cells with the data sheet."),
    ProblemKind("doubled-part", "a part id stands twice", "An id names one part in all files.",
         "Expected each id once; {part} stands already in {file} row {row}.", "Rename one of them or remove one row."),
    ProblemKind("doubled-seller", "a seller stands twice", "Nobody can say which freight counts.",
         "Expected each seller once; {seller} stands already in row {row}.", "Remove one of the two rows."),
    ProblemKind("unknown-part", "a price for a part that is in no file", "It may be a misspelt id.",
         "Expected the id of a part of this catalogue{rows}.", "Correct the id{perhaps}, or remove the row."),
    ProblemKind("two-currencies", "prices in two currencies", "Prices of two currencies cannot be added.",
         "Expected {currency} as in the other rows{rows}.", "Convert the price, or keep one list for each currency."),
    ProblemKind("stock-differs", "two different stocks of one part and seller", "Rows of one part and seller share one stock.",
         "Expected {stock}, as row {row} says for {part} from {seller}.", "State the stock in one of the rows only."),
    # warnings
    ProblemKind("ignored-columns", "columns that are not known", "They are kept and not used.",
         "Not used: {columns}.", "Nothing needs to be done."),
    ProblemKind("ignored-files", "files that are not known", "They may be misspelt names of files that would be read.",
         "Not read: {files}.", "Known names are {known}."),
    ProblemKind("stock-below-minimum", "an offer that can never be used", "Its least quantity is more than there is in stock.",
         "At least {min_qty} must be bought and there are {stock}.", "Check min_qty and stock."),
    ProblemKind("doubled-offer", "two prices of one offer", "Part, seller, least quantity and pack are the same.",
         "Row {row} asks another price for the same; the lower one counts.", "Remove the one that is out of date."),
    ProblemKind("seller-not-listed", "a seller without freight", "sellers.csv does not name this seller.",
         "Freight of {seller} is taken as 0.", "Add the seller to sellers.csv."),
    ProblemKind("parts-without-price", "parts without a price", "They are never picked, unless they are on hand.",
         "{count} of {all} parts have no price{example}.", "Add their prices, or leave them out."),
    ProblemKind("offers-without-weight", "offers that cannot be bought for want of a weight",
         "Their sellers charge freight by weight.",
         "{count} of {all} offers are of parts without weight_kg, by sellers with freight_per_kg{example}.",
         "State weight_kg of these parts; until then they are not bought there."),
    ProblemKind("old-prices", "prices older than asked", "What is old may not be had at that price any more.",
         "{count} of {all} offers are more than {days} days old on {on}: {named}.",
         "Ask their sellers again; --strict-dates leaves them out."),
    ProblemKind("old-prices-left-out", "prices left out for their age", "What is old may not be had at that price any more.",
         "{count} of {all} offers are more than {days} days old on {on} and are not used: {named}.",
         "Ask their sellers again, and write the new prices with their day."),
    # the job
    ProblemKind("toml-syntax", "the file is not TOML", "Nothing can be read from it until it is.",
         "The reader says: {reason}.", "Mend this line; texts need quotes, lists need commas."),
    ProblemKind("unknown-key", "a key is not known", "Ignored, what it says would be missed in silence.",
         "Known here: {known}.", "{closest} is the closest; write that, or remove the key."),
    ProblemKind("missing-key", "a key is missing", "Nothing can be assumed for it.",
         "Expected {key}: {meaning}.", "Add {example}"),
    ProblemKind("to-do", "a value is still to be found", "The person left it open.",
         "Still to be found: {meaning}.", "{how}"),
    ProblemKind("wrong-type", "a value is of the wrong sort", "It cannot be read as what this key says.",
         "Expected {expected}.", "Write it as in {example}"),
    ProblemKind("missing-unit", "a unit is missing", "A bare number may mean any of them.",
         "Expected a number with one of the units {units}.", "Write the unit, as in \"{example}\"."),
    ProblemKind("unknown-unit", "a unit does not fit", "Each key has a short list of units, spelt as the trade does.",
         "Expected one of the units {units}.", "Write \"{example}\", if that is what is meant."),
    ProblemKind("not-a-quantity", "a text is not a quantity", "It cannot be read as a number and a unit.",
         "Expected a number and one of the units {units}.", "Write it as in \"{example}\"."),
    ProblemKind("twelve-values", "a list has not twelve values", "A year has twelve months, January first.",
         "Expected one value or twelve; there are {found}.", "Write one value for every month, or a single one."),
    ProblemKind("doubled-name", "two loads have one name", "Answers call a load by its name.",
         "Expected each name once; load {other} has it too.", "Rename one of them."),
    ProblemKind("supply-voltage", "a load does not fit the supply", "Another voltage destroys it, or it does not run.",
         "Expected {volts} on a supply of \"{supply}\".", "Check the load's nameplate, or choose another supply kind."),
    ProblemKind("energy-ways", "a load's energy is stated in no way or in several", "They would have to agree, or nothing "
         "is known.",
         "Expected exactly one of water_per_day with flow, hours_per_day, energy_per_day; stated: {stated}.",
         "Keep the one you know best."),
    ProblemKind("restart-missing", "how loads restart is not stated", "All at once asks far more than one after the "
         "other.",
         "Expected restart under [supply]: {count} units start harder than they run.",
         "Add restart = \"staggered\" if a delay keeps them apart, else restart = \"together\"."),
    ProblemKind("too-many-plans", "too many ways to put starters on loads", "Every way that may pay is looked at.",
         "Expected at most {most} ways, found {count}.",
         "Exclude starters that are out of the question, or leave out the motor of a load that needs none."),
    ProblemKind("too-many-placings", "too many 120 V loads to place on two legs", "Every placing is tried, and each unit "
         "doubles them.",
         "Expected at most {most} ways to place the 120 V units; there are {ways}.",
         "Put small loads together as one, or pin some with leg = 1 or leg = 2."),
    ProblemKind("start-below-running", "a start below the running figure", "No motor starts with less than it runs on.",
         "Expected a start of at least the running {running} VA; this is {starting} VA.",
         "Check that the two figures and their units are not exchanged; write \"none\" for a load without a surge."),
    ProblemKind("code-without-rated", "a code letter without the motor's power", "The letter gives kVA for each hp.",
         "Expected rated beside locked_rotor_code.", "Add rated = \"2 hp\" with the power on the nameplate."),
    ProblemKind("code-letter", "a code letter that says nothing", "Letters run from A to V without I, O and Q; V has no "
         "upper end.",
         "Expected one letter of A to U, without I, O and Q.", "Read the letter again, or state starting in A or VA."),
    ProblemKind("over-ten-hp", "a start cannot be estimated over 10 hp", "The table of full-load amps ends at 10 hp.",
         "Expected at most 10 hp where rated stands alone; this is {hp} hp.",
         "State starting in A or VA, or locked_rotor_code."),
    ProblemKind("hours-over-day", "a load would run more than 24 hours a day", "Water per day asks more than its flow gives.",
         "Expected at most 24 h a day; water_per_day over count times flow is {hours} h.",
         "Check water_per_day, flow and count and their units."),
    ProblemKind("leg-misplaced", "a leg where there is none to choose", "Only a load of 110 to 125 V sits on one leg of a "
         "\"120/240\" supply.",
         "Expected leg only on such a load.", "Remove leg."),
    ProblemKind("hot-below-cold", "the hottest is below the coldest", "One of the two is wrong.",
         "Expected hottest above coldest, {coldest} degC.", "Check the sign and the unit of both."),
    ProblemKind("unknown-name", "a name that the catalogue does not have", "Misspelt, it would be missed in silence.",
         "Expected {what} of this catalogue.", "Correct it{perhaps}, or remove it."),
    # what is asked beside the job
    ProblemKind("follows-by-rule", "a part that is not chosen", "What it is needed for settles how many there are.",
         "Expected a converter, a panel, a battery or a rack; this is one of the {kind}s.", "Name a part of those."),
    ProblemKind("not-a-count", "a number of pieces that is none", "Nothing can be counted by it.",
         "Expected a whole number above 0 behind \"=\".", "Write it as in {example}."),
    ProblemKind("two-of-a-kind", "two parts of one kind are asked for", "A bundle has one model of each kind.",
         "Expected one {kind}; {other} is asked for too.", "Leave one of them out."),
    ProblemKind("asked-and-barred", "a part is asked for and barred", "No bundle can have both.",
         "Expected it in one of --must and --never.", "Leave one of them out."),
    ProblemKind("unknown-input", "an input that the job does not have", "Misspelt, it would be missed in silence.",
         "Expected one of {known}.", "Correct it{perhaps}."),
)  # fmt: skip

KINDS: Mapping[str, ProblemKind] = {kind.id: kind for kind in _LIST}
