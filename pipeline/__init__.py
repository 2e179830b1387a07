"""Editorial decisions in, a commentary and a layered MEI out, stage by stage."""
