"""From a solved garden to what is bought, cut and billed."""
