"""Rules over show, plan and figures; each gives findings."""
