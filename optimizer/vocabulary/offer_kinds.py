"""What can be wrong with a bundle file besides what can be wrong with any file."""

from __future__ import annotations

from collections.abc import Mapping

from optimizer.vocabulary.problem_kinds import ProblemKind

_LIST = (
    ProblemKind("json-syntax", "the file is not JSON", "Nothing can be read from it until it is.",
         "The reader says: {reason}.", "Mend this line, or write the answer again."),
    ProblemKind("no-such-rank", "there is no bundle of that rank", "A rank names one option of an answer.",
         "Expected {expected}.", "Name an option of the answer, as in answer.json#1."),
    ProblemKind("other-currency", "the answer is in another currency", "Amounts of two currencies cannot be compared.",
         "Expected {currency}, as in the catalogue.", "Audit it with the catalogue that it was made from."),
    ProblemKind("counts-disagree", "a figure contradicts the rest of the file", "Nobody can say which of the two is meant.",
         "Expected {expected}.", "Correct the one that is wrong, or leave this one out."),
    ProblemKind("doubled-tracker", "two entries for one tracker", "All strings of one tracker are alike.",
         "Expected each tracker once.",
         "Write equal strings as one entry with parallel, or give the other strings a tracker of their own."),
    ProblemKind("id-of-catalogue", "an own part has an id of the catalogue", "Two parts with one id would be mixed up.",
         "Expected an id of its own.", "Rename it, or leave its table out if the catalogue's part is meant."),
    ProblemKind("two-ids", "one part has two ids", "Nobody can say which of them is meant.",
         "Expected {other}, as under [models].", "Write one id, or leave it out under [models]."),
    ProblemKind("not-on-a-leg", "a load that sits on no leg", "Only loads of 110 to 125 V on a 120/240 supply sit on one.",
         "Expected the name of such a load of the job.", "Correct it{perhaps}, or remove it."),
    ProblemKind("legs-disagree", "the legs do not carry what the job has", "Each unit stands on exactly one leg.",
         "Expected {expected}, on both legs together.", "Name it once for each of its units."),
    ProblemKind("two-prices", "two prices for one bundle", "They would have to agree.",
         "Expected quoted or purchases, not both.", "Keep the one that is asked for."),
)  # fmt: skip

OFFER_KINDS: Mapping[str, ProblemKind] = {kind.id: kind for kind in _LIST}
