"""The practice and its people. Pure rules, no clock: the day is always an argument."""
