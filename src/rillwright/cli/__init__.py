"""The command line: parse, call a job, print."""
