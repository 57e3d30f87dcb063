"""Laws that hold for every catalog, one file per idea."""
