"""The command line: reads what was asked, calls the rooms below, and says what came of it."""
