"""A site as one value: its records indexed, what is connected to what, how a thing is described."""
