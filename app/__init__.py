"""Lowcrown, the workbench: command line, job, paper and window around `geometry`."""
