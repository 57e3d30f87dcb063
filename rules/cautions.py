"""What is said wherever a result could lead somebody into harm. Calculations name these by id."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One thing to be said to the person who acts on a result.

    Attributes:
        when: What the caution belongs to.
        source: Where it is published; or that it is common practice without a source.
    """

    id: str
    when: str
    text: str
    source: str


PRACTICE = "common practice, no source"

LOCAL_LAW = "local law; ask where the work is done"

CAUTIONS = (
    Caution(
        id="estimate",
        when="every result",
        text=(
            "This is an estimate for planning, from the figures that were entered. The bike's service manual,"
            " the local code and a licensed person come before it."
        ),
        source="this project",
    ),
    Caution(
        id="wiring",
        when="any visit on which wires are touched",
        text=(
            "Ignition off and battery disconnected first: the negative lead comes off first and goes back last."
            " The service manual says what becomes of memories and alarms."
        ),
        source=PRACTICE,
    ),
    Caution(
        id="fuse",
        when="an amplifier's power lead",
        text=(
            "A fuse belongs in the positive lead close to the battery: within 178 mm of wire, or 1016 mm where"
            " the wire is sheathed. It protects the cable: never put in a larger one because it blew."
        ),
        source="33 CFR 183.455, a rule for boats: guidance on a motorcycle",
    ),
    Caution(
        id="cable",
        when="a cable's size",
        text=(
            "The rating is for copper in free air at 30 degrees Celsius. Near the engine and in a bundle a cable"
            " carries less; copper-clad aluminium needs a larger size."
        ),
        source="33 CFR 183.425, notes of the table, a rule for boats: guidance on a motorcycle",
    ),
    Caution(
        id="pass_through",
        when="a cable goes through a panel or past the steering head",
        text=(
            "Use a grommet, and keep clear of steering, suspension and exhaust. Turn the bars from lock to lock"
            " and look before the panels go on."
        ),
        source=PRACTICE,
    ),
    Caution(
        id="hot",
        when="work near the engine",
        text="Let the exhaust, the engine and the amplifier cool before you reach in.",
        source=PRACTICE,
    ),
    Caution(
        id="battery",
        when="work on the battery or its charging",
        text=(
            "A battery can give off gas that burns and holds acid. Lithium iron phosphate with four cells: never"
            " charge above 14.6 V, and never below freezing."
        ),
        source=PRACTICE,
    ),
    Caution(
        id="parked",
        when="listening with the engine off",
        text=(
            "Listening while parked can leave too little to start with. The time shown keeps a reserve; cold and"
            " an old battery shorten it."
        ),
        source="form of Peukert's law; the reserve is an assumption that is shown",
    ),
    Caution(
        id="tone",
        when="a test tone is played to set a gain",
        text=(
            "Set the gain with the speakers disconnected. If they must stay connected, play short bursts only:"
            " a steady tone at full level burns a voice coil and hurts ears."
        ),
        source=PRACTICE,
    ),
    Caution(
        id="hearing",
        when="a level above 85 dBA at the ear",
        text=(
            "Above 85 dBA the time that hearing bears is short, and wind and music count together. Ringing or"
            " dullness after a ride: ask a hearing professional."
        ),
        source="NIOSH 98-126; WHO-ITU H.870",
    ),
    Caution(
        id="wind",
        when="riding faster than about 65 km/h",
        text=(
            "Wind in the helmet alone can pass 90 dBA at about 65 km/h and 100 dBA on a highway. A stronger"
            " system is no cure for it: wear earplugs where that is legal."
        ),
        source="McCombe et al. 1994; Brown and Gordon 2011",
    ),
    Caution(
        id="controls",
        when="anything that is set by the rider",
        text=(
            "Set it before you ride and look away from the road for moments only. Keep it low enough that horns"
            " and sirens are heard."
        ),
        source="NHTSA guidelines, 78 FR 24817, written for cars",
    ),
    Caution(
        id="outside",
        when="a level that is heard outside the bike",
        text="Music that carries can be an offence in some places: check the local law.",
        source=LOCAL_LAW,
    ),
    Caution(
        id="paid_work",
        when="work that is paid for",
        text=(
            "In some places only a registered business may do paid work on a vehicle, and only after a written"
            " estimate that the customer has agreed to."
        ),
        source=LOCAL_LAW,
    ),
    Caution(
        id="mass",
        when="parts are added to a bike",
        text=(
            "Added parts count toward the payload and change how the bike handles. Tighten to the service"
            " manual's torque again after the first rides."
        ),
        source=PRACTICE,
    ),
    Caution(
        id="water",
        when="a rating against water",
        text=(
            "A rating against water comes from laboratory tests with fresh water. It says nothing about washing"
            " under pressure."
        ),
        source="IEC 60529, second-hand",
    ),
)

BY_ID = {x.id: x for x in CAUTIONS}


def cautions_of(ids: tuple[str, ...]) -> tuple[Caution, ...]:
    """Give the cautions of these ids, in their order; each id must be known."""
    return tuple(BY_ID[x] for x in ids)
