"""Published grades and limits, as numbers and the sentence beside them."""
