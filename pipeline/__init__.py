"""Editorial decisions in, a commentary and a layered MEI out: read, compute, check, layer, typeset."""
