"""The catalog's value objects, one noun a file: what a catalog manager writes, checked and frozen."""
