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

# Parameters in the forms of the standard.
for command, query, wanted in [
    ("*ESE #H3C", "*ESE?", "60"), ("*ESE #Q17", "*ESE?", "15"), ("*ESE #B101", "*ESE?", "5"),
    ("*ESE MAXimum", "*ESE?", "255"), ("*ESE MIN", "*ESE?", "0"), ("*SRE 255", "*SRE?", "191"),
    ("SHUT:GAP 500 MS", "SHUT:GAP?", "0.500"), ("SHUT:GAP 1.5 E1", "SHUT:GAP?", "15.000"),
    ("SHUT1:GAP DEF", "SHUT:GAP?", "2.000"), ("SHUT:AUTO ON", "SHUT:AUTO?", "1"), ("SHUT:AUTO OFF", "SHUT:AUTO?", "0"),
    ("RIG:PER 2,4,1.5,-90", "RIG:PER? 2", "2,4,1.5,-90"),
]:
    controller.write(command)
    check(command, controller.query(query), wanted)
controller.write("RIG:CANC")
check("limit by query", controller.query("SHUT:EXP? MAX"), "3600.000")
check("errors after the parameters", controller.query("SYST:ERR?"), '0,"No error"')

# Every mandatory header of IEEE 488.2 and SCPI-1999: no error, and an answer to each query.
controller.write("*CLS")
for query in ["*ESE?", "*ESR?", "*OPC?", "*SRE?", "*STB?", "*TST?", "SYST:VERS?", "STAT:OPER?", "STAT:OPER:COND?",
              "STAT:OPER:ENAB?", "STAT:QUES?", "STAT:QUES:COND?", "STAT:QUES:ENAB?"]:
    assert controller.query(query), query
for command in ["*CLS", "*ESE 0", "*OPC", "*SRE 0", "*WAI", "STAT:PRES", "STAT:OPER:ENAB 0", "STAT:QUES:ENAB 0"]:
    controller.write(command)
check("errors after the mandatory list", controller.query("SYST:ERR?"), '0,"No error"')
check("two answers of one message", controller.query("*OPC?;:SYST:VERS?"), "1;1999.0")
controller.write("*IDN?;*ESE?")
controller.read()
error = controller.query("SYST:ERR?")
assert error.startswith("-440"), error

# *OPC? and *WAI hold what follows until the rewind is over; ABORt is not held.
controller.write("ABOR")
controller.write("REW")
check("answer in its turn", controller.query("*OPC?;:MOT:STAT?").split(";")[0], "1")

# A peer that hangs up in the middle of a line leaves nothing to execute.
controller.write_raw(b"INIT")
controller.close()
controller = pyvisa.ResourceManager("@py").open_resource(f"TCPIP0::127.0.0.1::{port}::SOCKET")
controller.read_termination = "\n"
controller.write_termination = "\n"
controller.timeout = 5000
controller.write("")
check("half a line", controller.query("MOT:STAT?"), "IDLE")

controller.write("INIT")
check("tracks again", controller.query("MOT:STAT?"), "TRACKING")
controller.write("*RST")
check("state after *RST", controller.query("MOT:STAT?"), "IDLE")
controller.write("ABOR")
check("state after ABORt", controller.query("MOT:STAT?;:SYST:VERS?"), "IDLE;1999.0")
print("all checks passed")
