"""Drives the served controller as any laboratory instrument: PyVISA with its pure-Python backend.

Arguments: TCP port, file with a compiled profile. Ends with "all checks passed", or raises.
"""
import sys
import time

import pyvisa

port, profile_file = sys.argv[1], sys.argv[2]
profile = open(profile_file, "rb").read()

controller = pyvisa.ResourceManager("@py").open_resource(f"TCPIP0::127.0.0.1::{port}::SOCKET")
controller.read_termination = "\n"
controller.write_termination = "\n"
controller.timeout = 5000


def check(what, got, wanted):
    assert got == wanted, f"{what}: got {got!r}, wanted {wanted!r}"


identity = controller.query("*IDN?").split(",")
check("maker in *IDN?", identity[0], "Hourhinge")
check("fields of *IDN?", len(identity), 4)
controller.write("*CLS")

controller.write_binary_values("PROFile:DATA ", list(profile), datatype="B")
check("errors after the upload", controller.query("SYST:ERR?"), '0,"No error"')
back = bytes(controller.query_binary_values("PROF:DATA?", datatype="B"))
check("profile read back", back, profile)
check("operation complete", controller.query("*OPC?"), "1")

controller.write("INIT")
check("state", controller.query("MOTion:STATe?"), "TRACKING")
first = int(controller.query("MOT:POS?"))
time.sleep(0.5)
second = int(controller.query("mot:pos?"))
assert second > first, f"position stands still: {first}, {second}"
check("tracking bit", int(controller.query("STAT:OPER:COND?")) & 256, 256)

# A deliberate mistake: the header does not exist; the standard's number for that is -113.
controller.write("MOTION:TELEPORT 5")
error = controller.query("SYST:ERR?")
assert error.startswith('-113,"Undefined header'), error
check("queue empty again", controller.query("SYST:ERR?"), '0,"No error"')

controller.write("ABOR")
check("state after ABORt", controller.query("MOT:STAT?;:SYST:VERS?"), "IDLE;1999.0")
print("all checks passed")
