"""Who may ask, and from where: keys, the origins of pages, the names of hosts."""
