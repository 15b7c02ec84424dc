"""The best order for a whole site: what may be chosen for its groups, what a choice comes to, and a first good one."""
