"""The scaffold: writes a small plugin package that installs and passes its own tests untouched.

`lanewise.scaffold.names` judges the name, `lanewise.scaffold.packages` fills in the templates, and
`lanewise.scaffold.folders` puts the files on the disk, all or none. A template is a file under ``templates`` whose name
ends in ``.template``; ``$distribution`` and the like in it are filled in.
"""
