"""Own readings of land gauges."""
