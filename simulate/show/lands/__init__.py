"""Panels of land gauges."""
