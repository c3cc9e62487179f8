"""The ground floor: what every room stands on, the refusal first."""
