"""What a rig is, and how names, stock and paths of a text become one."""
