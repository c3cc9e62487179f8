"""Bodies that are known already: from an earlier result or a certificate, with all that their errors share."""
