"""The REST service and the command line: questions in, answers out, no rules of their own."""
