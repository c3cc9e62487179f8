"""The bed, the cross slide and the head of a machine brought into line."""
