"""Values that know how far they move when each independent source of uncertainty moves.

A `Measured` keeps, beside each value, its *parts*: the change of the value when one named source moves by one
standard uncertainty. Variances, covariances between any two results and budgets are sums over these parts, so a shared
origin or front line needs no book-keeping and no matrix. The room knows no chemistry: any plain array formula is
carried through by `propagation`, or by trials in `montecarlo` where first order is doubtful.
"""
