"""Builds the window program: the application, what catches faults, and its windows."""
