"""What the trade knows, as data: packs, hazards and gates, read, audited and put in working order."""
