"""Many tests kept: the ledger of a lot, its chain, and what it says of all of them."""
