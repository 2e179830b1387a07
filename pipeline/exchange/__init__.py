"""EXCHANGE: the part as a file that notation programs open."""
