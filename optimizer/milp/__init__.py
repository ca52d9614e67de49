"""The mixed-integer subproblem and its solvers; nothing else imports the modelling library or a solver."""
