"""The bed, the cross slide and the headstock of a machine brought into line."""
