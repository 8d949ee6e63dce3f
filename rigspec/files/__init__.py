"""The texts of rigs as they are found on disk. Command line and language server read them by the same rules."""
