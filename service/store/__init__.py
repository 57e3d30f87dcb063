"""What outlives a process: releases, their history, holds and keys, in SQLite or PostgreSQL."""
