# SPDX-License-Identifier: Apache-2.0
"""ngspice in this process, asked for operating points only (Debian package libngspice0, through ctypes).

Source of the interface: the ngspice manual, chapter "ngspice as shared library", and sharedspice.h of libngspice0-dev."""
import ctypes
import ctypes.util


class _Value(ctypes.Structure):
    _fields_ = [("name", ctypes.c_char_p), ("real", ctypes.c_double), ("imaginary", ctypes.c_double),
                ("is_scale", ctypes.c_bool), ("is_complex", ctypes.c_bool)]


class _Values(ctypes.Structure):
    _fields_ = [("count", ctypes.c_int), ("index", ctypes.c_int), ("values", ctypes.POINTER(ctypes.POINTER(_Value)))]


_SAYS = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
_EXITS = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p)
_DATA = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(_Values), ctypes.c_int, ctypes.c_int, ctypes.c_void_p)
_BEGINS = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int, ctypes.c_void_p)
_THREAD = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p)


class Missing(Exception):
    """The library is not installed."""


class Spice:
    """One per process: the library keeps its state in globals."""

    def __init__(self):
        try:
            self.library = ctypes.CDLL(ctypes.util.find_library("ngspice") or "libngspice.so.0")
        except OSError as problem:
            raise Missing("libngspice is not there (Debian: apt-get install libngspice0)") from problem
        self.said, self.values, self.runs = [], {}, 0
        self.kept = [_SAYS(self.hear), _SAYS(lambda *_: 0), _EXITS(lambda *_: 0), _DATA(self.take), _BEGINS(lambda *_: 0), _THREAD(lambda *_: 0)]
        self.library.ngSpice_Init(*self.kept, None)

    def hear(self, text, *_):
        if len(self.said) < 200:
            self.said.append(text.decode(errors="replace"))
        return 0

    def take(self, values, *_):
        all_ = values.contents
        for i in range(all_.count):
            value = all_.values[i].contents
            self.values[value.name.decode().lower()] = value.real
        return 0

    def command(self, text):
        return self.library.ngSpice_Command(text.encode()) == 0

    def run(self, lines):
        """Volts by node name and amperes by "source#branch"; None when ngspice finds no operating point."""
        self.said.clear()
        self.values = {}
        self.runs += 1
        text = [line.encode() for line in lines] + [b".end", None]
        loaded = self.library.ngSpice_Circ((ctypes.c_char_p * len(text))(*text)) == 0
        solved = loaded and self.command("op")
        if loaded:
            self.command("remcirc")
        self.command("destroy all")
        return self.values if solved and self.values and not any("failed" in line for line in self.said) else None
