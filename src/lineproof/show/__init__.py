"""The show: what people write down, read into frozen values and written back."""
