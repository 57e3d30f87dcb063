"""From a directory or an upload to the release that is served, and back."""
