"""Programs that break what they can while the service runs, and count what goes wrong."""
