"""What the `loomway` command does, one module a command: it asks the engine and draws tables."""
