"""`loomway calc`: the calculations, one by one. Options are made from the inputs of each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rules.calculations.calculation import Calculation, Input
from rules.calculations.registry import CALCULATIONS, calculate, calculation
from rules.errors import MalformedQuestion
from rules.nearest import nearest
from service.shapes.calculations import Calculated, CalculationsOffered, Shown, cautions_told
from service.terminal.channels import tell_channels
from service.terminal.mistakes import WrongCommand
from service.terminal.output import say, say_json, show_table

HELP = ("-h", "--help")
CHANNELS = "channels"
"""What is no calculation of the registry, as it is asked with a file: which channel feeds which zone."""


def calc_command(asked: str | None, options: list[str], *, usage: str, as_json: bool) -> None:
    """List the calculations, explain one, or answer it.

    Raises:
        WrongCommand: An option is unknown, has no value, comes twice, or its value is refused.
        UnknownCalculation: Nothing has this id.
    """
    if asked in HELP or (asked is None and set(options) & set(HELP)):
        say(usage)
    elif asked is None:
        list_calculations(as_json=as_json)
    elif asked == CHANNELS:
        tell_channels(options, as_json=as_json)
    elif asked.startswith("-"):
        raise WrongCommand("name a calculation before its inputs; `loomway calc` lists them all")
    elif set(options) & set(HELP):
        explain_calculation(calculation(asked))
    else:
        answer_calculation(calculation(asked), options, as_json=as_json)


# Told ---------------------------------------------------------------------------------------------


def list_calculations(*, as_json: bool) -> None:
    """List every calculation with its inputs and its result, in their units."""
    if as_json:
        say_json(CalculationsOffered.from_domain())
        return
    for topic in sorted({entry.topic for entry in CALCULATIONS.values()}):
        rows = [
            (entry.id, entry.title, ", ".join(map(_brief, entry.inputs)), _unit(entry.output.unit))
            for entry in CALCULATIONS.values()
            if entry.topic == topic
        ]
        show_table(topic.capitalize(), ("calculation", "gives", "from", "in"), rows)
    say(
        "`loomway calc ID --help` explains one: its inputs, equation, validity and source.",
        "`loomway calc channels QUESTION.yaml` gives zones their channels; docs/api.md shows a question.",
    )


def _brief(entry: Input) -> str:
    unit = _unit(entry.unit)
    return f"{option_of(entry)} [{unit}]" if unit else option_of(entry)


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit


def explain_calculation(entry: Calculation) -> None:
    """Tell what a calculation takes and gives, and what it rests on."""
    say(entry.title)
    rows = [(option_of(x), x.meaning, x.takes(), _left_out(x)) for x in entry.inputs]
    show_table("Takes", ("option", "meaning", "value", "left out"), rows)
    given = [(x.name, x.meaning, _unit(x.unit)) for x in entry.outputs]
    show_table("Gives", ("figure", "meaning", "in"), given)
    _tell_grounds(entry)


def _left_out(entry: Input) -> str:
    if entry.default is not None:
        return f"{shown(entry.default)} is taken"
    return "nothing is assumed" if entry.optional else "must be given"


def _tell_grounds(entry: Calculation) -> None:
    say(f"Equation: {entry.equation}", f"Holds for: {entry.validity}", f"Source: {entry.source}")
    tell_cautions(entry.cautions)


def tell_cautions(ids: tuple[str, ...]) -> None:
    """Tell cautions, each with where it is published."""
    if ids:
        say("", "Take care")
        say(*(f"  - {caution.text} ({caution.source})" for caution in cautions_told(ids)))


def answer_calculation(entry: Calculation, options: list[str], *, as_json: bool) -> None:
    """Answer, in lines and tables or as the API does.

    Raises:
        WrongCommand: As `calc_command`.
    """
    given = dict(_read(entry, options))
    try:
        answer = calculate(entry, given)
    except MalformedQuestion as error:
        raise _refusal(entry, error) from None
    told = Calculated.from_domain(entry, answer)
    if as_json:
        say_json(told)
        return
    say(f"{entry.title}: {_with_unit(told.result, told.unit)}")
    if told.limit is not None:
        say(f"held against {_with_unit(told.limit, told.unit)}")
    rows = [(x.name, x.meaning, _with_unit(x.value, x.unit)) for x in told.figures]
    show_table("", ("figure", "meaning", "value"), rows)
    taken = [(option_of(x), x.meaning, _with_unit(answer.inputs[x.name].value, x.unit)) for x in entry.inputs]
    show_table("From", ("option", "meaning", "value"), taken)
    _tell_grounds(entry)


def _with_unit(value: Shown | None, unit: str) -> str:
    return shown(value) if value is None or unit == "1" else f"{shown(value)} {unit}"


def shown(value: Shown | None) -> str:
    """Show a figure: four digits that count, but no whole number shortened."""
    if isinstance(value, tuple):
        return ", ".join(map(shown, value))
    if value is None or isinstance(value, bool):
        return {None: "none", True: "yes", False: "no"}[value]
    if isinstance(value, str):
        return value
    return f"{value:,.0f}" if abs(value) >= 1_000 and value == round(value) else f"{value:.4g}"  # noqa: PLR2004 - thousands


def _refusal(entry: Calculation, error: MalformedQuestion) -> WrongCommand:
    option = next((option_of(x) for x in entry.inputs if x.name == error.field), None)
    fault = f"{option} {str(error).removeprefix(error.field).strip()}" if option else str(error)
    return WrongCommand(f"{fault}; {error.cure}")


# Options ------------------------------------------------------------------------------------------


def option_of(entry: Input) -> str:
    """Give the option of an input; its unit, where the name ends with it, may be left off when it is typed."""
    return f"--{entry.name.replace('_', '-')}"


def _names(entry: Input) -> Iterator[str]:
    yield option_of(entry)
    unit = "".join(letter for letter in entry.unit.lower() if letter.isalnum())
    stem, _, ending = entry.name.rpartition("_")
    if stem and ending == unit:
        yield f"--{stem.replace('_', '-')}"


def _read(entry: Calculation, options: list[str]) -> Iterator[tuple[str, object]]:
    known = _known(entry.inputs)
    seen: set[str] = set()
    ahead = iter(options)
    for word in ahead:
        name, is_joined, value = word.partition("=")
        if name not in known:
            raise _unknown(entry, name, known)
        wanted = known[name]
        if not is_joined:
            value = next(ahead, "")
        if not value:
            raise WrongCommand(f"{name} has no value; give {wanted.takes()}")
        if wanted.name in seen:
            raise WrongCommand(f"{name} comes twice; several numbers are written 4,4,8")
        seen.add(wanted.name)
        yield wanted.name, _value(wanted, value)


def _known(inputs: Iterable[Input]) -> dict[str, Input]:
    """Map each name that an input may be typed with; a short one that could mean two inputs means neither."""
    typed = [(name, entry) for entry in inputs for name in _names(entry)]
    exact = {option_of(entry) for entry in inputs}
    names = [name for name, _ in typed]
    return {
        name: entry
        for name, entry in typed
        if names.count(name) == 1 or (name in exact and name == option_of(entry))
    }


def _unknown(entry: Calculation, name: str, known: dict[str, Input]) -> WrongCommand:
    close = nearest(name, known)
    options = ", ".join(option_of(x) for x in entry.inputs)
    hint = f"did you mean {close}?" if close else f"it takes {options}"
    fault = f"has no option {name}" if name.startswith("--") else "takes nothing but options"
    return WrongCommand(f"{entry.id} {fault}; {hint}")


def _value(wanted: Input, text: str) -> object:
    """Read a value; what is no number is left for the input to refuse, which names itself and its range."""
    if wanted.kind == "word":
        return text
    if wanted.kind == "numbers":
        return tuple(_number(part) for part in text.split(","))
    return _number(text)


def _number(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text
