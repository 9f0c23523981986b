"""A registry in which nothing but the plugins under test takes part."""

from __future__ import annotations

from types import ModuleType

from lanewise.plugins import discovery
from lanewise.plugins.registry import Registry, make_registry


def isolated(*plugins: ModuleType, built_in: bool = False) -> Registry:
    """Make a registry of the given plugins alone.

    Parameters
    ----------
    *plugins : module
        The modules that the entry points name. A module of the library itself counts as built in.
    built_in : bool, optional
        Whether the built-in formats and styles are there too.

    Returns
    -------
    Registry
        A strict one: the first fault of a plugin is raised. Installed plugins are not looked for.

    Raises
    ------
    ValueError
        If a module is given twice.

    Examples
    --------
    >>> from lanewise.formats import builtin
    >>> [entry.name for entry in isolated(builtin).formats.values()]
    ['marks-table', 'study-record']
    """
    names = [plugin.__name__ for plugin in plugins]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"plugin {name!r} was given twice: give each module once.")
    own = tuple(name for name in discovery.BUILT_IN if built_in or name in names)
    handed = {plugin.__name__: plugin for plugin in plugins if plugin.__name__ not in own}
    return make_registry(built_in=own, discover=False, plugins=handed, strict=True)
