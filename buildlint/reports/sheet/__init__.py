"""The bench sheet: one HTML page about a build, to print or to read on a phone."""
