"""The search for the cheapest way: a money model that proposes, an examiner that judges."""
