"""The tester in the hand: wishes and photos of phones come in over HTTP, pages of where the tester stands go out."""
