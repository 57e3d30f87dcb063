"""Changes that a catalog manager makes, written into copies of catalogs: a new model year; a day's corrections."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from service.settings import DEMO_CATALOG

NEW_YEAR = """  - years: 2025
    source: {kind: measured, ref: "one bike on our lift, sheet W-9", date: 2026-10-01}
    # The works went back to the round plug, and the pod is narrower behind it.
    all:
      places: {fairing_pods: {geometry: {depth_mm: 63, magnet_mm: 100}}}
      loom: {connectors: {pods: {map: pod_round}}}
      stock: {fairing_pods.speaker: skarvane-pod-155}
"""


def demo_with_a_new_year(directory: Path) -> Path:
    """Copy the demo catalog, and give its Gadwall Solo a model year that renames a plug and narrows a pod."""
    shutil.copytree(DEMO_CATALOG, directory)
    path = directory / "bikes" / "gadwall.yaml"
    text = path.read_text(encoding="utf-8")
    longer = text.replace(
        "name: Solo without top case, years: 2015-2024", "name: Solo without top case, years: 2015-2025"
    )
    assert longer != text
    path.write_text(longer + NEW_YEAR, encoding="utf-8")
    return directory


def large_with_changes(texts: dict[str, str]) -> dict[str, str]:
    """Give the texts of a large drawn catalog with a day's corrections.

    The rear pods of a trim are a millimetre shallower, a speaker is deeper, a trial came out otherwise, ten parts cost more.
    """
    new = dict(texts)
    new["bikes/fam03.yaml"] = re.sub(
        r"(years: 2025-2026.*?grand: .*?depth_mm: )(\d+)",
        lambda found: f"{found[1]}{int(found[2]) - 1}",
        new["bikes/fam03.yaml"],
        count=1,
        flags=re.DOTALL,
    )
    line = next(
        name for name in sorted(new) if name.startswith("parts/line") and "kind: speaker" in new[name]
    )
    new[line] = re.sub(r"(spec: \{depth_mm: )\d+", r"\g<1>86", new[line], count=1)
    topic = next(name for name in sorted(new) if "outcome: allow" in new[name])
    new[topic] = new[topic].replace("outcome: allow", "outcome: refuse", 1)
    lines = new["prices/2026.yaml"].splitlines()
    at = [index for index, text in enumerate(lines) if text.startswith(("  deadening", "  grille"))][:10]
    for index in at:
        name, _, price = lines[index].partition(": ")
        lines[index] = f"{name}: {int(price) + 100}"
    new["prices/2026.yaml"] = "\n".join(lines) + "\n"
    return new
