"""The plugin host: finds plugins, leaves out broken ones by name, and hands out what the rest offer.

A registry is made, not found: `lanewise.plugins.registry.make_registry` makes one, and the doors of the
library use the one that `lanewise.plugins.registry.default_registry` keeps for the process. Nothing is
looked for before formats or styles are first asked for, and then once. The built-in formats and
styles come in through the same door as everybody else's.

Installing a plugin is running its code with one's own rights. What the host does about that: it loads
plugins only when needed, never from the working folder, and not at all when they are switched off. It waits
for one that never finishes loading, or never answers about a file, for a limited time only. It cannot end every such
plugin, since Python offers no safe way to end code that runs in the same process; switching it off by the name of its
distribution takes effect before any of its code runs.
"""
