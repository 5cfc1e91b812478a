"""Pure functions of floats and arrays in SI: no files, no clock, no randomness, no documents."""
