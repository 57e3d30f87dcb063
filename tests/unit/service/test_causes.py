"""Facts behind a finding, as the API tells them."""

from __future__ import annotations

from rules.engine import Engine
from rules.question import FitQuestion
from service.shapes.finding import FindingTold
from tests.oracle.generate import verdict_instance


def test_a_refusal_for_want_of_a_fuse_in_the_bag_tells_the_fuses_that_are_in_it() -> None:
    instance = verdict_instance(4)
    asked = FitQuestion(bike="plover-2029", part="kit-two", on=instance.question.on)
    findings = Engine(instance.catalog).fit(asked).findings
    told = [FindingTold.from_domain(finding, instance.catalog) for finding in findings]
    bag = next(cause for finding in told for cause in finding.causes if cause.fact == "part.fuses_a")
    cable = instance.catalog.parts["kit-two"].cable
    assert cable is not None
    assert bag.value == tuple(f"{fuse:g}" for fuse in cable.fuses_a)
