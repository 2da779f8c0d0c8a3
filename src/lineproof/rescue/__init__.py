"""The quickest way back after a fault: moves of plugs, cables and routes; proposals only."""
