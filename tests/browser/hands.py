"""A person at the keyboard, without a mouse."""

from __future__ import annotations

from playwright.sync_api import Page

NAME = """() => {
  const at = document.activeElement;
  const label = at.getAttribute("aria-label") || at.labels?.[0]?.innerText || at.innerText || at.value || "";
  return `${at.tagName.toLowerCase()} ${label}`.replace(/\\s+/g, " ").trim();
}"""
"""What somebody who cannot see is told of the field that is reached, roughly."""

MOST = 400


class Hands:
    """Only keys."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def reach(self, kind: str, name: str) -> None:
        """Press Tab until a field, link or button is reached whose name has these words."""
        passed = []
        for _ in range(MOST):
            self.page.keyboard.press("Tab")
            told = self.page.evaluate(NAME)
            if told.startswith(kind) and name in told:
                return
            passed.append(told)
        raise AssertionError(f"no {kind} {name!r} among {passed[:60]}")

    def press(self, kind: str, name: str) -> None:
        """Reach it, and press Enter."""
        self.reach(kind, name)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def open(self, name: str) -> None:
        """Reach something that is folded up, and press Enter."""
        self.reach("summary", name)
        self.page.keyboard.press("Enter")

    def choose(self, name: str, words: str) -> None:
        """Reach a list, and type the first words of what is chosen."""
        self.reach("select", name)
        self.page.keyboard.type(words)
        chosen = self.page.evaluate("() => document.activeElement.selectedOptions[0].text")
        assert chosen.startswith(words), chosen

    def write(self, name: str, text: str) -> None:
        """Reach a field, and write over what is in it."""
        self.reach("input", name)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def tick(self, name: str) -> None:
        """Reach a box or a row of choices, go along it with the arrows, and mark what has these words."""
        for _ in range(MOST):
            self.page.keyboard.press("Tab")
            if self.page.evaluate("() => document.activeElement.type === 'checkbox'"):
                if self.page.evaluate(NAME) == f"input {name}":
                    self.page.keyboard.press("Space")
                    return
            elif self._along(name):
                return
        raise AssertionError(f"nothing to tick {name!r}")

    def _along(self, name: str) -> bool:
        """Go along a row of choices, of which one at a time is marked; it is one step for Tab."""
        first = self.page.evaluate(
            "() => document.activeElement.type === 'radio' && document.activeElement.value"
        )
        if not first:
            return False
        self.page.keyboard.press("Space")
        while self.page.evaluate(NAME) != f"input {name}":
            self.page.keyboard.press("ArrowRight")
            if self.page.evaluate("() => document.activeElement.value") == first:
                return False
        return True
