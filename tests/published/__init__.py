"""Published and agreed values, each with its source and where it comes from, against the calculations."""
