"""Editions: what a service reads, made from results and nothing else."""
