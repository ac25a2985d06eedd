"""The tester in software: firmware, board and cable."""
