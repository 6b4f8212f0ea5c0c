"""Takes: from the bytes of a recording to the pooled evidence of a fingering."""
