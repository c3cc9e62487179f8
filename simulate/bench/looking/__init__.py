"""What light, feelers, marking compound and an eye show of a gap."""
