"""The form of an answer document (JSON) as far as it is read again; what anyone may have edited is checked by types.

Each part is read alone: None where it is not of its form. Amounts of an answer are texts with two decimals. Loaded only
where an answer is read, since the library of data models takes its time to load.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, TypeAdapter, ValidationError

_MONEY = TypeAdapter(Annotated[Decimal, Field(max_digits=17, decimal_places=2)])
Cents = Annotated[int, BeforeValidator(lambda amount: int(_MONEY.validate_python(amount) * 100))]


class Form(BaseModel):
    """Part of an answer; what else stands there is not read."""

    model_config = ConfigDict(frozen=True, coerce_numbers_to_str=True)  # an id may be all digits


class StringsForm(Form):
    """What one tracker carries."""

    tracker: int
    parallel: int
    series: int


class BankForm(Form):
    """How the bank is wired."""

    series: int
    parallel: int


class ShapeForm(Form):
    """Parts, counts and wiring of a bundle."""

    models: dict[str, str]
    counts: dict[str, int]
    strings: tuple[StringsForm, ...]
    bank: BankForm
    starters: dict[str, str] = {}
    tanks: dict[str, int] = {}


class LineForm(Form):
    """What one seller sells of a part."""

    seller: str
    quantity: int
    unit_price: Cents


class PurchaseForm(Form):
    """What is bought of a part."""

    part: str
    needed: int
    on_hand: int
    lines: tuple[LineForm, ...]


class ChargeForm(Form):
    """What a seller charges beside its prices."""

    seller: str
    cost: Cents
    tax: Cents = 0


class OrderForm(Form):
    """What is bought for a bundle."""

    purchases: tuple[PurchaseForm, ...]
    freight: tuple[ChargeForm, ...]


class StandsForm(Form):
    """A limit that stands in the way, and what it would have to be."""

    limit: str
    value: object = None


class ClashForm(Form):
    """Limits that leave nothing together."""

    limits: tuple[StandsForm, ...]


class WhyForm(Form):
    """Why nothing meets a job."""

    conflicts: tuple[ClashForm, ...]


F = TypeVar("F", bound=Form)


def read(form: type[F], content: object) -> F | None:
    """A part of an answer, or None where it is not of this form."""
    try:
        return form.model_validate(content)
    except ValidationError:
        return None


def cents(amount: object) -> int | None:
    """An amount of an answer in cents, or None where it is none."""
    try:
        return int(_MONEY.validate_python(amount) * 100)
    except ValidationError:
        return None
