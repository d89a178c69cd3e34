"""An invented collection on which everything can be tried out: nobody and nothing in it is real."""
