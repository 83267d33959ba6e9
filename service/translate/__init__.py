"""The only door between what travels over the wire and the physics: units in, units out, words found."""
