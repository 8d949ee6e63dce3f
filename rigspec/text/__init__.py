"""What everything is made of: values, texts and places in them, findings as data, near words, units."""
