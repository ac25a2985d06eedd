"""What the file of a virtual cable says. In: TOML. Out: a Description, checked as a whole, every default set.

toml_file, when     a file read strictly into typed values; when something holds
plugs, kinds, remotes   contacts and orders, kinds of cable, the passive remotes
cable_file, attached    what the file may hold; what the far plug is in
description, named  all of it together; the cables that ship
"""
