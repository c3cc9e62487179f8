"""The unit switch and the spelling of quantities."""
