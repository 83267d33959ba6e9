"""Who may ask, from where and how much: keys, the origins of pages, the names of hosts, quotas of work."""
