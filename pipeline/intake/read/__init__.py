"""Any shape of export in, sheets out: every physical line of every sheet accounted for."""
