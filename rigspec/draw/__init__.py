"""Drawings of a rig as values: what is drawn where, and the SVG that is made of it."""
