"""PHREEQC made ready for the scripts beside it: the engine with `phreeqc.dat`, and what runs an input."""

from phreeqc import Phreeqc


def started():
    engine = Phreeqc()
    assert engine.LoadBuiltInDatabase("phreeqc.dat") == 0

    def run(text):
        if engine.RunString(text) != 0:
            raise RuntimeError(engine.GetErrorString())

    return engine, run
