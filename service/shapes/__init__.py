"""Request and response models: `to_domain` reads a question, `from_domain` writes an answer."""
