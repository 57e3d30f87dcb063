"""Which answers change from one release to the next, and because of what."""
