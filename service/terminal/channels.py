"""`loomway calc channels QUESTION.yaml`: which channel should feed which zone?"""

from __future__ import annotations

from pathlib import Path

from rules.allocation import Allocation, NoAllocation, allocate
from service.shapes.allocation import CAUTIONS, Allocated, AllocationAsked
from service.shapes.calculations import cautions_told
from service.terminal.mistakes import WrongCommand
from service.terminal.output import say, say_json, show_table
from service.terminal.question import read_question

_LIMITS = {
    "kept": "if no zone had to keep its channels",
    "bridge": "if bridged channels could be used singly as well",
    "alike": "if left and right could be on unlike channels",
    "lowest_impedance": "with channels that bear a lower impedance, or speakers with a higher one",
    "speaker_power": "with speakers rated for more, or a source whose power a preset may cap",
}


def tell_channels(options: list[str], *, as_json: bool) -> None:
    """Answer a question in a file, in a table or as the API does.

    Raises:
        WrongCommand: There is not one file, or it has faults.
        MalformedQuestion: What it says cannot be meant.
    """
    if len(options) != 1 or options[0].startswith("-"):
        raise WrongCommand("give one file: loomway calc channels QUESTION.yaml; docs/api.md shows its keys")
    answer = allocate(*read_question(Path(options[0]), AllocationAsked).to_domain())
    if as_json:
        say_json(Allocated.from_domain(answer))
    elif isinstance(answer, NoAllocation):
        _tell_none(answer)
    else:
        _tell(answer)


def _tell(answer: Allocation) -> None:
    rows = [
        (
            fed.zone,
            fed.side,
            f"{fed.source}, {fed.output.replace('_', ' ')}",
            f"{fed.load_ohm:.3g} ohm",
            f"{fed.share_w:.3g} W",
            f"{fed.margin:.2f}",
        )
        for fed in answer.feeds
    ]
    show_table("Who feeds what", ("zone", "side", "channel", "load", "gets", "rating / gets"), rows, money=3)
    say(*(f"{' and '.join(zones)} are on the same channels. {answer.says}" for zones in answer.shared))
    say(*(f"{source} needs a preset that caps its power." for source in answer.capped))
    say(*(f"  - {caution.text}" for caution in cautions_told(CAUTIONS)))


def _tell_none(answer: NoAllocation) -> None:
    say(f"There is no way to feed {' and '.join(answer.zones)} together.")
    if answer.would_help:
        say("It could be done:", *(f"  - {_LIMITS[limit]}" for limit in answer.would_help))
    else:
        say("There are too few channels, whatever is changed about them.")
