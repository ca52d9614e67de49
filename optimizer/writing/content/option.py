"""What is said of one option: its parts, trackers, limits, what to buy, and what it rests on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimizer.writing.words import sentences
from optimizer.writing.words.figures import figure, lasting, number, plain_money, share
from optimizer.writing.words.phrases import left_text, on_hand_worth, saving_text, string_map

if TYPE_CHECKING:
    from catalog.offers import Seller
    from optimizer.answers.answer import Answer, Option
    from optimizer.auditor.reading import Audit, Reading
    from optimizer.bundles.bundle import Bundle
    from optimizer.bundles.order import Order
    from optimizer.inputs.job import Job


NO_BREAK = "\N{NO-BREAK SPACE}"
OPTION_HEADS = ("", "total", "converter", "panels", "battery", "days", "nearest edge")
UNPROVEN = "? not proven to be the next cheapest"


def option_rows(answer: Answer) -> list[list[str]]:
    """The cells of the options, under ``OPTION_HEADS``."""
    first = _parts(answer.options[0].bundle)
    rows = []
    for option in answer.options:
        cells = _parts(option.bundle)
        if option.rank > 1:
            cells = ["as in 1" if cell == own else cell for cell, own in zip(cells, first, strict=True)]
        proven = "" if option.proven or answer.pick.status == "proven" else "?"
        rows.append(
            [f"{option.rank}{proven}", plain_money(option.cents), *cells, days(option.audit.autonomy_days),
             edge(option.nearest()[0])]
        )  # fmt: skip
    return rows


def _parts(bundle: Bundle) -> list[str]:
    """Converter, panels with their strings, and batteries of a bundle."""
    units = f"{bundle.units} " if bundle.units > 1 else ""
    bank = f": {bundle.bank_series}x{bundle.bank_parallel}" if bundle.bank_series > 1 else ""
    return [
        f"{units}{bundle.converter['part']}",
        f"{bundle.panels} {bundle.panel['part']}: {string_map(bundle)}",
        f"{bundle.batteries} {bundle.battery['part']}{bank}",
    ]


def days(value: float) -> str:
    """Sunless days the bank carries, rounded down as everywhere."""
    return "any" if value == float("inf") else number(lasting(value), 2)


def edge(reading: Reading) -> str:
    """A limit with the room that is left to it."""
    return f"{reading.limit} {room(reading).replace(' ', NO_BREAK)}"


def room(reading: Reading) -> str:
    """The room left, as a share of what is asked."""
    return "" if reading.settled or reading.room == float("inf") else share(reading.room)


def tracker_heads(job: Job, option: Option) -> list[str]:
    """What stands over the trackers: on which morning, and in what heat, the volts are read."""
    cold = sentences.temperature(job, "site.coldest", job.site.coldest_c)
    hot = sentences.temperature(job, "site.hottest", option.cell_c)
    return ["", "panels", f"at {cold} dawn", f"at {hot} cell", "usable"]


def tracker_rows(option: Option) -> list[list[str]]:
    """Each tracker: its strings, their V cold and hot, and the W it passes on."""
    rows = []
    for t in option.trackers:
        fused = f", fused {figure(t.fuse_a, 'A')}" if t.fuse_a is not None else ""
        rows.append(
            [f"tracker {t.tracker}", f"{t.series} in series x {t.parallel}{fused}", figure(t.cold_v, "V"),
             figure(t.hot_v, "V"), figure(t.usable_w, "W")]
        )  # fmt: skip
    return rows


def facts(answer: Answer, option: Option) -> list[tuple[str, str]]:
    """What else there is to say of a bundle, each with its label."""
    bundle, judged = option.bundle, option.audit
    bank = f"{bundle.bank_series} in series x {bundle.bank_parallel} in parallel"
    setting = judged.charge_setting_a
    charging = "its charger cannot be set" if setting is None else (
        f"set charging to {sentences.setting_text(setting)} or less")  # fmt: skip
    said = [("bank", f"{bank}; {charging}")]
    said.append(("protection", f"of the bank must carry {sentences.protection(option)}"))
    said += [("legs", text) for text in legs(answer, option)]
    if bundle.rack is not None:
        said.append(("racks", f"{bundle.rack_units} {bundle.rack['part']}"))
    said += [("starter" if place == 0 else "", text) for place, text in enumerate(starters(answer, option))]
    said.append(("days", sunless_days(option)))
    said += [("water", text) for text in water(answer, option)]
    said.append(("month", tightest_month(option)))
    if answer.job.weather is not None:
        from optimizer.writing.words.weather import sun_line

        said.append(("sun", sun_line(answer.job)))
        said += [("replay" if place == 0 else "", text) for place, text in enumerate(replay(answer.job, judged))]
    return said


def replay(job: Job, judged: Audit) -> list[str]:
    """What the hours of the weather file come to for a bundle; nothing without one."""
    if judged.replay is None:
        return []
    from optimizer.writing.words.replay import replay_lines

    return replay_lines(job, judged.replay, lambda litres: sentences.water(job, litres))


def tightest_month(option: Option) -> str:
    """The month with the least room, and what it asks of the array."""
    worst = option.audit.reading("daily-energy")
    asked, has = figure(worst.allowed, "W"), figure(worst.value, "W")
    return f"{worst.where} is the tightest: it asks {asked} of usable array, and has {has}"


def sunless_days(option: Option) -> str:
    """How long the bank lasts without sun, and how long the array then takes to fill it in the tightest month."""
    lasts, (slowest, month) = days(option.audit.autonomy_days), option.audit.slowest_refill
    if slowest == float("inf"):
        return f"{lasts} without sun; the array never fills an empty bank again in {month}"
    return f"{lasts} without sun; an empty bank is full again in {number(slowest, 1)} days in {month}"


def starters(answer: Answer, option: Option) -> list[str]:
    """What each load starts at through its starter, and what it would start at without."""
    said = []
    figures = option.audit.loads
    for load in figures:
        if load.starter:
            for_s = figure(load.start_s, "s")
            said.append(f"{load.starter} on {load.name}: starts at {figure(load.start_va, 'VA')} for {for_s}, "
                        f"{figure(load.direct_va, 'VA')} without it")  # fmt: skip
    return said


def water(answer: Answer, option: Option) -> list[str]:
    """What the tanks hold, and how long that lasts."""
    judged, job = option.audit, answer.job
    if judged.water_days is None:
        return []
    pieces = ", ".join(f"{count} {part}" for part, count in sorted(option.bundle.tanks.items()))
    there = job.water.tank_on_hand_l
    holds = "holds" if sum(option.bundle.tanks.values()) == 1 else "hold"
    hold = f"{pieces} {holds} {sentences.water(job, option.bundle.tanks_l)}" if pieces else ""
    own = f"{sentences.water(job, there)} on hand" if there else ""
    return [f"{' and '.join(filter(None, (hold, own)))}: {days(judged.water_days)} days of what is pumped"]


def legs(answer: Answer, option: Option) -> list[str]:
    """The leg plan: which loads stand on which leg, and which across both."""
    placed = option.audit.legs
    counts = {load.name: load.count for load in answer.demand.loads}
    across = [load.name for load in answer.demand.loads if answer.demand.leg_plans and load.across]

    def named(leg: int) -> str:
        return ", ".join(
            name if counts[name] == 1 else f"{on[leg]} x {name}" for name, on in placed.items() if on[leg]
        )  # fmt: skip

    plan = [f"leg {leg + 1}: {named(leg)}" for leg in (0, 1) if named(leg)]
    if across:
        plan.append(f"across both: {', '.join(across)}")
    return ["; ".join(plan)] if plan else []


# what to buy -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SellerOrder:
    """What is bought of one seller, as it is printed: each line as part, pieces, price of a piece, cost, note; freight
    and tax "" where there is none. ``free_from``: the goods from which freight is free, where the order has them."""

    seller: str
    lines: tuple[tuple[str, str, str, str, str], ...]
    freight: str
    tax: str
    subtotal: str
    free_from: str = ""

    @property
    def charges(self) -> list[tuple[str, str]]:
        """What the seller adds to its lines, by name, and the freight that the order is spared."""
        said = [(name, cents) for name, cents in (("freight", self.freight), ("tax", self.tax)) if cents]
        return [(f"freight, free from {self.free_from}", plain_money(0)), *said] if self.free_from else said


def seller_orders(order: Order, seller_of: Callable[[str], Seller]) -> list[SellerOrder]:
    """The order by seller, in the order of their names. ``seller_of``: what each adds to an order."""
    freight, tax = dict(order.freight), dict(order.tax)
    found = []
    for seller in sorted(freight):
        charged = [freight[seller], tax.get(seller, 0)]
        subtotal, lines = sum(charged), []
        for purchase in order.purchases:
            bought = sum(line.quantity for line in purchase.lines)
            spare = bought + purchase.on_hand - purchase.needed
            for line in purchase.lines:
                if line.seller == seller:
                    lines.append((purchase.part, f"{line.quantity:,}", plain_money(line.unit_cents),
                                  plain_money(line.cents), f"{spare} to spare" if spare else ""))  # fmt: skip
                    subtotal += line.cents
        freight_said, tax_said = (plain_money(cents) if cents else "" for cents in charged)
        asks = seller_of(seller)
        free = asks.free_over is not None and asks.ever_free and order.goods_of(seller) >= asks.free_over
        free_from = plain_money(asks.free_over or 0) if free else ""
        found.append(SellerOrder(seller, tuple(lines), freight_said, tax_said, plain_money(subtotal), free_from))
    return found


def on_hand(answer: Answer, option: Option) -> list[str]:
    """The pieces that are there already and used, and those that are left, each with what it is worth."""
    worth = {each.part: each for each in answer.why.on_hand} if option.rank == 1 else {}
    order = option.bundle.order
    used = [
        f"{purchase.on_hand} {purchase.part}{on_hand_worth(answer, worth.get(purchase.part))}"
        for purchase in (order.purchases if order else ())
        if purchase.on_hand
    ]
    return used + [left_text(answer, each) for each in worth.values() if not each.used]


def worth_said(answer: Answer, option: Option) -> list[str]:
    """What starters and tanks save, said of the first option alone."""
    if option.rank > 1:
        return []
    said = [saving_text(answer, each) for each in answer.why.savings]
    if answer.why.hardest is not None:
        direct, soft = answer.why.hardest
        if direct.load != soft.load:
            said.append(f"the hardest start is now that of {soft.load}, {figure(soft.va, 'VA')}; without starters that "
                        f"of {direct.load}, {figure(direct.va, 'VA')}")  # fmt: skip
    return said


# what it rests on ------------------------------------------------------------------------------------------------


def rests_on(answer: Answer, option: Option) -> dict[str, list[str]]:
    """What a bundle rests on, by label; a label with nothing to say has a list that says so, or an empty one."""
    return {
        "NOT INCLUDED": [sentences.not_included(option)],
        "MEASURED": sentences.measured(answer),
        "ESTIMATED": sentences.estimated(answer) or ["nothing"],
        "TAKEN AS": (sentences.taken_for_job(answer) + sentences.taken_for_option(answer, option))
        or ["nothing: everything is stated"],
        "CONDITION": [*sentences.asked_beside(answer), *sentences.conditions_of_job(answer),
                      *sentences.conditions_of_option(answer, option)],
    }  # fmt: skip
