"""What is different between two rigs: for the crew first, then for who reads the figures."""
