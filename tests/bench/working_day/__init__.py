"""A working day played against PostgreSQL, an object store and n servers behind nginx: how it grows, what comes next."""
