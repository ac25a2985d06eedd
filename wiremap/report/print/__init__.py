"""What is printed, drawn or opened elsewhere: pictures, sheets, labels, the phone page. Out: bytes."""
