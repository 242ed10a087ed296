"""Arranging: a tune and a tier become an arrangement of plucks by one least-cost search."""
