"""Reports: what an inspection, figures, rules, a comparison, labels look like, in each form."""
