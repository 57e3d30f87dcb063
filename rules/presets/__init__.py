"""Setting an amplifier up, and writing down what was set: numbers in, numbers out, no catalog types."""
