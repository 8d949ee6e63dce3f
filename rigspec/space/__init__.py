"""How loud and when a rig is heard at its places: loudspeakers with what they get, in the open air."""
