"""Reports: what an inspection, a build's figures or the rulebook look like, in each form."""
