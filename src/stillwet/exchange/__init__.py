"""Readers and writers of files; every ``read_*`` returns (records, problems)."""
