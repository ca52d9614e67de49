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
    ("missing-folder", "the folder is not there", "A catalogue is a folder of CSV files.",
         "Expected a folder with {files}.", "Name the folder that holds them."),
    ("empty-folder", "the folder holds no catalogue", "A catalogue is a folder of CSV files.",
         "Expected {files} in this folder; none of them is here.", "Name the folder that holds them."),
    ("missing-file", "a file is missing", "Every bundle needs a part from this file.",
         "Expected the file {file}.", "Add it, with the columns {columns}."),
    ("unreadable-file", "the file cannot be opened", "The system refused to read it.",
         "Expected a file that can be read; the system says: {reason}.", "Check its name and its permissions."),
    ("unwritable-file", "the file cannot be written", "The system refused to write it.",
         "Expected a file that can be written; the system says: {reason}.", "Check the folder and its permissions."),
    ("empty-file", "the file is empty", "A file without a heading row says nothing.",
         "Expected {content}.", "Fill the file or remove it; if it should be full, fetch it again."),
    ("not-utf8", "the file is not UTF-8 text", "Another encoding would turn names and signs into others.",
         "Expected UTF-8 text; this looks like {encoding}.", "Save it again with the encoding UTF-8."),
    ("not-commas", "the cells are not separated by commas", "Semicolons go with decimal commas, which would "
         "be read as other figures.",
         "Expected commas between cells and a decimal point in figures; this file has {separator} between "
         "cells{comma}.",
         "In the spreadsheet choose Save as, CSV, with the comma as separator and the decimal point (an English "
         "locale does both)."),
    ("too-large", "the file is far too large", "A job is a page of text.",
         "Expected at most {most} bytes; there are {size}.", "Check that this is the file you mean."),
    # headings and rows
    ("missing-column", "a column is missing", "The rules cannot do without it.",
         "Expected a column {column}: {meaning}.", "Add the column {column} to the heading row and fill it."),
    ("unknown-column", "a heading is close to a known one", "Ignored, it would silently be taken as not stated.",
         "Close to {closest}, and not read as it.", "Rename the heading to {closest}, or to something else."),
    ("doubled-column", "two columns have one heading", "Nobody can say which of them counts.",
         "Expected {column} once; it stands in columns {columns}.", "Keep one of them and remove the other."),
    ("ragged-row", "a row has too few or too many cells", "Its figures may stand under the wrong headings.",
         "Expected {expected} cells, as in the heading row; this row has {found}.",
         "Count its commas; put double quotes round a text that contains a comma."),
    ("open-quote", "quotation marks do not pair", "What follows would be read as one text.",
         "Expected every opening double quote to be closed before the next comma.",
         "Close the quote, or write each double quote inside a text twice."),
    # cells
    ("long-cell", "a cell is far too long", "No figure, name or note is that long.",
         "Expected at most {most} characters; this has {length}.", "Shorten it; look for a quote that was not closed."),
    ("missing-value", "a required cell is empty", "Empty means not stated, never zero.",
         "Expected {meaning}.", "Write it in, or remove the row."),
    ("not-a-number", "a cell is not a number", "The rules reckon with it.",
         "Expected a plain number{unit}: {meaning}.", "Write digits with a decimal point only, without unit or text."),
    ("decimal-comma", "a number has a comma", "A comma may mean a decimal or a thousand.",
         "Expected a number with a point: {pointed}.", "Write a decimal point, and no separator between thousands."),
    ("not-finite", "a number is not finite", "No rule can reckon with it.",
         "Expected a finite number: {meaning}.", "Write the figure, or leave it out where that is allowed."),
    ("not-whole", "a number is not whole", "It counts things.",
         "Expected a whole number: {meaning}.", "Write it without a fraction."),
    ("out-of-range", "a number is out of range", "No real value lies there; often the unit is another one.",
         "Expected {range}: {meaning}.", "Check the figure and its unit."),
    ("unknown-value", "a value is not one of those known", "A rule depends on which it is.",
         "Expected one of {choices}.", "Write one of them{perhaps}."),
    ("not-a-date", "a date is not an ISO date", "Day and month are easily taken for each other.",
         "Expected year-month-day, as in 2026-10-01.", "Write the date in that order with hyphens."),
    ("not-a-currency", "a currency is not a three-letter code", "Prices of two currencies cannot be added.",
         "Expected three capital letters, as in USD.", "Write the currency's code."),
    ("not-cents", "an amount has more than two decimals", "Money is counted in whole cents.",
         "Expected at most two decimals.", "Round it to cents, or state the price of a larger piece."),
    ("too-fine", "a figure has too many decimals", "What is reckoned with it must come out exact.",
         "Expected at most {decimals} decimals.", "Round it."),
    ("columns-disagree", "figures of one row contradict each other", "One of them is wrong, and a rule uses it.",
         "Expected {rule} ({name}); this row has {values}.", "Compare these cells with the data sheet."),
    ("doubled-part", "a part id stands twice", "An id names one part in all files.",
         "Expected each id once; {part} stands already in {file} row {row}.", "Rename one of them or remove one row."),
    ("doubled-seller", "a seller stands twice", "Nobody can say which freight counts.",
         "Expected each seller once; {seller} stands already in row {row}.", "Remove one of the two rows."),
    ("unknown-part", "a price for a part that is in no file", "It may be a misspelt id.",
         "Expected the id of a part of this catalogue{rows}.", "Correct the id{perhaps}, or remove the row."),
    ("two-currencies", "prices in two currencies", "Prices of two currencies cannot be added.",
         "Expected {currency} as in the other rows{rows}.", "Convert the price, or keep one list for each currency."),
    ("stock-differs", "two different stocks of one part and seller", "Rows of one part and seller share one stock.",
         "Expected {stock}, as row {row} says for {part} from {seller}.", "State the stock in one of the rows only."),
    # warnings
    ("ignored-columns", "columns that are not known", "They are kept and not used.",
         "Not used: {columns}.", "Nothing needs to be done."),
    ("ignored-files", "files that are not known", "They may be misspelt names of files that would be read.",
         "Not read: {files}.", "Known names are {known}."),
    ("stock-below-minimum", "an offer that can never be used", "Its least quantity is more than there is in stock.",
         "At least {min_qty} must be bought and there are {stock}.", "Check min_qty and stock."),
    ("doubled-offer", "two prices of one offer", "Part, seller, least quantity and pack are the same.",
         "Row {row} asks another price for the same; the lower one counts.", "Remove the one that is out of date."),
    ("seller-not-listed", "a seller without freight", "sellers.csv does not name this seller.",
         "Freight of {seller} is taken as 0.", "Add the seller to sellers.csv."),
    ("parts-without-price", "parts without a price", "They are never picked, unless they are on hand.",
         "{count} of {all} parts have no price{example}.", "Add their prices, or leave them out."),
    ("offers-without-weight", "offers that cannot be bought for want of a weight",
         "Their sellers charge freight by weight.",
         "{count} of {all} offers are of parts without weight_kg, by sellers with freight_per_kg{example}.",
         "State weight_kg of these parts; until then they are not bought there."),
    ("old-prices", "prices older than asked", "What is old may not be had at that price any more.",
         "{count} of {all} offers are more than {days} days old on {on}: {named}.",
         "Ask their sellers again; --strict-dates leaves them out."),
    ("old-prices-left-out", "prices left out for their age", "What is old may not be had at that price any more.",
         "{count} of {all} offers are more than {days} days old on {on} and are not used: {named}.",
         "Ask their sellers again, and write the new prices with their day."),
    # the job
    ("toml-syntax", "the file is not TOML", "Nothing can be read from it until it is.",
         "The reader says: {reason}.", "Mend this line; texts need quotes, lists need commas."),
    ("unknown-key", "a key is not known", "Ignored, what it says would be missed in silence.",
         "Known here: {known}.", "{closest} is the closest; write that, or remove the key."),
    ("missing-key", "a key is missing", "Nothing can be assumed for it.",
         "Expected {key}: {meaning}.", "Add {example}"),
    ("to-do", "a value is still to be found", "The person left it open.",
         "Still to be found: {meaning}.", "{how}"),
    ("wrong-type", "a value is of the wrong sort", "It cannot be read as what this key says.",
         "Expected {expected}.", "Write it as in {example}"),
    ("missing-unit", "a unit is missing", "A bare number may mean any of them.",
         "Expected a number with one of the units {units}.", "Write the unit, as in \"{example}\"."),
    ("unknown-unit", "a unit does not fit", "Each key has a short list of units, spelt as the trade does.",
         "Expected one of the units {units}.", "Write \"{example}\", if that is what is meant."),
    ("not-a-quantity", "a text is not a quantity", "It cannot be read as a number and a unit.",
         "Expected a number and one of the units {units}.", "Write it as in \"{example}\"."),
    ("twelve-values", "a list has not twelve values", "A year has twelve months, January first.",
         "Expected one value or twelve; there are {found}.", "Write one value for every month, or a single one."),
    ("doubled-name", "two loads have one name", "Answers call a load by its name.",
         "Expected each name once; load {other} has it too.", "Rename one of them."),
    ("supply-voltage", "a load does not fit the supply", "Another voltage destroys it, or it does not run.",
         "Expected {volts} on a supply of \"{supply}\".", "Check the load's nameplate, or choose another supply kind."),
    ("energy-ways", "a load's energy is stated in no way or in several", "They would have to agree, or nothing "
         "is known.",
         "Expected exactly one of water_per_day with flow, hours_per_day, energy_per_day; stated: {stated}.",
         "Keep the one you know best."),
    ("restart-missing", "how loads restart is not stated", "All at once asks far more than one after the "
         "other.",
         "Expected restart under [supply]: {count} units start harder than they run.",
         "Add restart = \"staggered\" if a delay keeps them apart, else restart = \"together\"."),
    ("too-many-plans", "too many ways to put starters on loads", "Every way that may pay is looked at.",
         "Expected at most {most} ways, found {count}.",
         "Exclude starters that are out of the question, or leave out the motor of a load that needs none."),
    ("too-many-placings", "too many 120 V loads to place on two legs", "Every placing is tried, and each unit "
         "doubles them.",
         "Expected at most {most} ways to place the 120 V units; there are {ways}.",
         "Put small loads together as one, or pin some with leg = 1 or leg = 2."),
    ("start-below-running", "a start that is not above the running figure", "A motor takes several times its running "
         "amps while it starts.",
         "Expected a start above the running {running} VA; this is {starting} VA.",
         "Check that the two figures and their units are not exchanged; write \"none\" for a load that starts no "
         "harder than it runs."),
    ("motor-without-start", "a motor without a start figure", "The start decides about converter and battery, and "
         "nothing may be assumed for it.",
         "Expected starting beside {key}; or locked_rotor_code with rated; or rated alone, an estimate.",
         "Read locked-rotor amps, or the code letter and the power, on the nameplate; or have the inrush read with a "
         "clamp meter. Write starting = \"none\" only for a motor that starts no harder than it runs, such as one with "
         "its own drive."),
    ("none-with-code", "a code letter of a load that is stated not to start hard", "The two contradict each other.",
         "Expected starting = \"none\" or locked_rotor_code, not both.", "Remove the one that is not so."),
    ("energy-over-day", "a load would run more than 24 hours a day", "Energy per day asks more than the load takes in "
         "a day and a night.",
         "Expected at most 24 h a day; energy_per_day over count times {watts} W is {hours} h.",
         "Check energy_per_day, running and count and their units."),
    ("bank-hot-below-cold", "where the bank stands the hottest is below the coldest", "One of the two is wrong; "
         "where bank_hottest or bank_coldest is not stated, the site's counts.",
         "Expected bank_hottest, {hottest} degC, not below bank_coldest, {coldest} degC.",
         "Check the sign and the unit of both, and state the other one."),
    ("code-without-rated", "a code letter without the motor's power", "The letter gives kVA for each hp.",
         "Expected rated beside locked_rotor_code.", "Add rated = \"2 hp\" with the power on the nameplate."),
    ("code-letter", "a code letter that says nothing", "Letters run from A to V without I, O and Q; V has no "
         "upper end.",
         "Expected one letter of A to U, without I, O and Q.", "Read the letter again, or state starting in A or VA."),
    ("over-ten-hp", "a start cannot be estimated over 10 hp", "The table of full-load amps ends at 10 hp.",
         "Expected at most 10 hp where rated stands alone; this is {hp} hp.",
         "State starting in A or VA, or locked_rotor_code."),
    ("hours-over-day", "a load would run more than 24 hours a day", "Water per day asks more than its flow gives.",
         "Expected at most 24 h a day; water_per_day over count times flow is {hours} h.",
         "Check water_per_day, flow and count and their units."),
    ("leg-misplaced", "a leg where there is none to choose", "Only a load of 110 to 125 V sits on one leg of a "
         "\"120/240\" supply.",
         "Expected leg only on such a load.", "Remove leg."),
    ("hot-below-cold", "the hottest is below the coldest", "One of the two is wrong.",
         "Expected hottest above coldest, {coldest} degC.", "Check the sign and the unit of both."),
    ("unknown-name", "a name that the catalogue does not have", "Misspelt, it would be missed in silence.",
         "Expected {what} of this catalogue.", "Correct it{perhaps}, or remove it."),
    # what is asked beside the job
    ("follows-by-rule", "a part that is not chosen", "What it is needed for settles how many there are.",
         "Expected a converter, a panel, a battery or a rack; this is one of the {kind}s.", "Name a part of those."),
    ("not-a-count", "a number of pieces that is none", "Nothing can be counted by it.",
         "Expected a whole number above 0 behind \"=\".", "Write it as in {example}."),
    ("two-of-a-kind", "two parts of one kind are asked for", "A bundle has one model of each kind.",
         "Expected one {kind}; {other} is asked for too.", "Leave one of them out."),
    ("asked-and-barred", "a part is asked for and barred", "No bundle can have both.",
         "Expected it in one of --must and --never.", "Leave one of them out."),
    ("unknown-input", "an input that the job does not have", "Misspelt, it would be missed in silence.",
         "Expected one of {known}.", "Correct it{perhaps}."),
    # bundle files
    ("json-syntax", "the file is not JSON", "Nothing can be read from it until it is.",
         "The reader says: {reason}.", "Mend this line, or write the answer again."),
    ("no-such-rank", "there is no bundle of that rank", "A rank names one option of an answer.",
         "Expected {expected}.", "Name an option of the answer, as in answer.json#1."),
    ("other-currency", "the answer is in another currency", "Amounts of two currencies cannot be compared.",
         "Expected {currency}, as in the catalogue.", "Audit it with the catalogue that it was made from."),
    ("counts-disagree", "a figure contradicts the rest of the file", "Nobody can say which of the two is meant.",
         "Expected {expected}.", "Correct the one that is wrong, or leave this one out."),
    ("doubled-tracker", "two entries for one tracker", "All strings of one tracker are alike.",
         "Expected each tracker once.",
         "Write equal strings as one entry with parallel, or give the other strings a tracker of their own."),
    ("id-of-catalogue", "an own part has an id of the catalogue", "Two parts with one id would be mixed up.",
         "Expected an id of its own.", "Rename it, or leave its table out if the catalogue's part is meant."),
    ("two-ids", "one part has two ids", "Nobody can say which of them is meant.",
         "Expected {other}, as under [models].", "Write one id, or leave it out under [models]."),
    ("not-on-a-leg", "a load that sits on no leg", "Only loads of 110 to 125 V on a 120/240 supply sit on one.",
         "Expected the name of such a load of the job.", "Correct it{perhaps}, or remove it."),
    ("legs-disagree", "the legs do not carry what the job has", "Each unit stands on exactly one leg.",
         "Expected {expected}, on both legs together.", "Name it once for each of its units."),
    ("two-prices", "two prices for one bundle", "They would have to agree.",
         "Expected quoted or purchases, not both.", "Keep the one that is asked for."),
)  # fmt: skip

KINDS: Mapping[str, ProblemKind] = {fields[0]: ProblemKind(*fields) for fields in _LIST}
