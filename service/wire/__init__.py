"""What travels over the wire: frozen msgspec structs that refuse unknown members; no behaviour."""
