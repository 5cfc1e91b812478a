"""One module for each command: its options, and what it calls. Heavy imports happen inside, so that --help is quick."""
