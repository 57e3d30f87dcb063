"""What helps to write a catalog: templates, edits that leave the rest of a file as it is, tables from elsewhere, schemas."""
