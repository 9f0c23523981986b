"""A report style that gives a lab report in LaTeX; `lanewise_latex.plugin` tells the library of it."""
