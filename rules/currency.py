"""How many decimals a currency's amounts have, and amounts as whole minor units."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

TWO = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF CHW CNY"
    " COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS"
    " INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR"
    " MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP"
    " STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG"
)
NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
THREE = "BHD IQD JOD KWD LYD OMR TND"
FOUR = "CLF UYW"

DECIMALS = {
    code: decimals
    for decimals, codes in ((2, TWO), (0, NONE), (3, THREE), (4, FOUR))
    for code in codes.split()
}
"""Minor-unit exponent of each currency. Source: ISO 4217 list one as published on 2026-01-01, second-hand.

Metals and funds without minor units have none.
"""


def currency_decimals(currency: str) -> int:
    """Give the minor-unit exponent of a currency: 2 for EUR, 0 for JPY, 3 for KWD.

    Raises: MalformedQuestion for what is no currency of ISO 4217 with minor units.
    """
    found = DECIMALS.get(currency)
    if found is None:
        raise MalformedQuestion("currency", "this is no currency of ISO 4217", "give a code such as EUR")
    return found


def round_half_up(amount: str, decimals: int) -> str:
    """Round a decimal number once, halves away from zero, as every money line is rounded.

    Args:
        amount: Written with a point, such as 2.665. Text, since a binary fraction would already be off.
        decimals: To keep.

    Returns: Written with exactly so many decimals.

    Raises: MalformedQuestion for what is no decimal number.

    Source: ISO 80000-1 annex B rule B, from memory.

    Example:
        >>> round_half_up("2.665", 2), round_half_up("-0.125", 2)
        ('2.67', '-0.13')
    """
    return format(read_decimal(amount).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP), "f")


def read_decimal(written: str) -> Decimal:
    """Read a plain decimal number of at most eighteen characters."""
    try:
        number = Decimal(written)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or len(written) > LONGEST or not set(written) <= set("+-.0123456789"):
        raise MalformedQuestion(
            "amount", "this is no plain decimal number", "write digits and a point, such as 142.50"
        )
    return number


LONGEST = 18
"""Characters of an amount: more than any quote has, and few enough that nothing is rounded unseen."""


def minor_units(amount: str, currency: str) -> int:
    """Give an amount in whole minor units.

    Raises: MalformedQuestion if it has more decimals than the currency.

    Example:
        >>> minor_units("142.5", "EUR"), minor_units("142", "JPY")
        (14250, 142)
    """
    minor = read_decimal(amount).scaleb(currency_decimals(currency))
    if minor != minor.to_integral_value():
        raise MalformedQuestion(
            "amount", "the amount has more decimals than the currency", "write it with fewer decimals"
        )
    return int(minor)


def written_amount(minor: int, currency: str) -> str:
    """Write whole minor units as an amount, without the currency's sign.

    Example:
        >>> written_amount(-129005, "EUR"), written_amount(142, "JPY")
        ('-1290.05', '142')
    """
    return format(Decimal(minor).scaleb(-currency_decimals(currency)), "f")


CURRENCY = Input(name="currency", unit="1", meaning="code of ISO 4217", kind="word", default="EUR")

CALCULATIONS = (
    Calculation(
        id="currency_decimals",
        title="Decimals of a currency",
        topic="money",
        function=currency_decimals,
        inputs=(Input(name="currency", unit="1", meaning="code of ISO 4217", kind="word"),),
        output=Output(name="decimals", unit="digits", meaning="minor-unit exponent"),
        equation="a table",
        validity="currencies with minor units",
        source="ISO 4217 list one as published on 2026-01-01, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="round_half_up",
        title="Rounding of a money line",
        topic="money",
        function=round_half_up,
        inputs=(
            Input(name="amount", unit="1", meaning="decimal number, such as 2.665", kind="word"),
            Input(
                name="decimals", unit="digits", meaning="to keep", kind="whole", least=0, most=4, default=2
            ),
        ),
        output=Output(name="amount", unit="decimal", meaning="rounded once, halves away from zero"),
        equation="halves away from zero",
        validity="each line once; totals are never rounded again",
        source="ISO 80000-1 annex B rule B, from memory",
        cautions=("estimate",),
    ),
)
