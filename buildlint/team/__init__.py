"""A team's repository, its selection and its git; dampers put together from its files."""
