# Each of these is `python3 -m tools NAME`; ARGS go to it, as in: make test ARGS="-k clock"
NAMES = demo test lint bench soak docs lock wheels

.PHONY: help $(NAMES)
help:
	@python3 -m tools help

$(NAMES):
	@python3 -m tools $@ $(ARGS)
