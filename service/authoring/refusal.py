"""What keeps a file from being written, in words for the person who asked for it."""


class CannotWrite(Exception):  # noqa: N818 -- it names what is wrong, like every exception here
    """A template, a table or an edit cannot be made of what was said. Its text says what to do."""
