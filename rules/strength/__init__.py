"""How strong a catalog's cases are: which of many small mistakes they would notice."""
