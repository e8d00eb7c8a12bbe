"""Drives the served controller as any laboratory instrument: PyVISA with its pure-Python backend.

Arguments: TCP port, file with a compiled profile, PROTOCOL.md. Ends with "all checks passed", or raises.
"""
import re
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

check("two answers of one message", controller.query("*OPC?;:SYST:VERS?"), "1;1999.0")
controller.write("*IDN?;*ESE?")
controller.read()
error = controller.query("SYST:ERR?")
assert error.startswith("-440"), error

# *OPC? and *WAI hold what follows until the rewind is over; ABORt is not held.
controller.write("ABOR")
controller.write("REW")
check("answer in its turn", controller.query("*OPC?;:MOT:STAT?").split(";")[0], "1")

# Every row of PROTOCOL.md's conformance table, by what the standard says it does.


def event(bit):
    controller.write("NONSENSE" if bit == 32 else "*OPC")
    return int(controller.query("*ESR?")) & bit


def cls():
    controller.write("NONSENSE")
    controller.write("*CLS")
    return controller.query("*ESR?;:SYST:ERR?") == '0;0,"No error"'


def mask(header):
    controller.write(f"{header} 60")
    return controller.query(f"{header}?") == "60" and controller.write(f"{header} 0") and \
        controller.query(f"{header}?") == "0"


def rst():
    controller.write("INIT;*ESE 36;*RST")
    return controller.query("MOT:STAT?;*ESE?") == "IDLE;36"  # The masks are not touched: IEEE 488.2, 10.32.


def stb():
    controller.write("*CLS;*ESE 32;*SRE 32;NONSENSE")
    summed = int(controller.query("*STB?"))  # Event summary, master summary, and an error in the queue.
    controller.write("*CLS;*ESE 0;*SRE 0")
    return summed & 100 == 100 and int(controller.query("*STB?")) & 100 == 0


def wai():
    began = time.monotonic()
    moved = controller.query("MOT:JOG 7000;:MOT:STAT?;*WAI;:MOT:STAT?")  # Ten seconds, at twenty times real time.
    return moved == "JOGGING;IDLE" and time.monotonic() - began > 0.2


def error_queue():
    controller.write("NONSENSE")
    controller.write("MOT:JOG 'x'")
    numbers = [controller.query(q).split(",")[0] for q in ("SYST:ERR?", "SYST:ERR:NEXT?", "SYST:ERR?")]
    return numbers[0] == "-113" and int(numbers[1]) < 0 and numbers[2] == "0"


def operation_event():
    controller.query("STAT:OPER?")
    controller.write("STAT:OPER:ENAB 256;:INIT")
    summed = int(controller.query("*STB?")) & 128
    seen = int(controller.query("STAT:OPER?")) & 256
    again = int(controller.query("STAT:OPER:EVEN?")) & 256
    controller.write("ABOR;:STAT:OPER:ENAB 0")
    return summed and seen and not again  # Reading clears; the condition has not changed.


def operation_condition():
    controller.write("INIT")
    on = int(controller.query("STAT:OPER:COND?")) & 256
    controller.write("ABOR")
    return on and not int(controller.query("STAT:OPER:COND?")) & 256


def questionable_event():
    controller.query("STAT:QUES?")
    controller.write("REW")
    controller.write("ABOR")
    return int(controller.query("STAT:QUES?")) >= 0 and controller.query("STAT:QUES:EVEN?") == "0"


def preset():
    controller.write("STAT:OPER:ENAB 256;:STAT:QUES:ENAB 512;:STAT:PRES")
    return controller.query("STAT:OPER:ENAB?;:STAT:QUES:ENAB?") == "0;0"


def device_clear():
    controller.write_raw(b"*ESE 7\x18*ESE?\n")  # CAN discards the half line.
    return controller.read() == "0"


def newline_ends():
    controller.write_raw(b"*ESE?;")
    controller.write_raw(b"*SRE?\n")
    return controller.read() == "0;0"


def answers_stay():
    controller.write("SYST:VERS?")
    controller.write("*OPC?")
    return [controller.read(), controller.read()] == ["1999.0", "1"]


checks = {
    "*CLS": cls, "*ESE": lambda: mask("*ESE"), "*ESE?": lambda: mask("*ESE"),
    "*ESR?": lambda: event(32) and controller.query("*ESR?") == "0",
    "*IDN?": lambda: len(controller.query("*IDN?").split(",")) == 4,
    "*OPC": lambda: event(1), "*OPC?": lambda: controller.query("*OPC?") == "1",
    "*RST": rst, "*SRE": lambda: mask("*SRE"), "*SRE?": lambda: mask("*SRE"), "*STB?": stb,
    "*TST?": lambda: controller.query("*TST?") == "0", "*WAI": wai,
    "SYSTem:ERRor[:NEXT]?": error_queue, "SYSTem:VERSion?": lambda: controller.query("SYSTem:VERSion?") == "1999.0",
    "STATus:OPERation[:EVENt]?": operation_event, "STATus:OPERation:CONDition?": operation_condition,
    "STATus:OPERation:ENABle": lambda: mask("STATus:OPERation:ENABle"),
    "STATus:OPERation:ENABle?": lambda: mask("STATus:OPERation:ENABle"),
    "STATus:QUEStionable[:EVENt]?": questionable_event,
    "STATus:QUEStionable:CONDition?": lambda: int(controller.query("STATus:QUEStionable:CONDition?")) & 1024 == 0,
    "STATus:QUEStionable:ENABle": lambda: mask("STATus:QUEStionable:ENABle"),
    "STATus:QUEStionable:ENABle?": lambda: mask("STATus:QUEStionable:ENABle"),
    "STATus:PRESet": preset,
    "service request": device_clear, "END message": newline_ends, "output queue": answers_stay,
}
table = open(sys.argv[3]).read().split("## Conformance")[1]
rows = [row.split("|")[1].strip() for row in table.splitlines() if row.startswith("|")][2:]
headers = [h for row in rows for h in (re.findall("`([^`]+)`", row) or
                                       [name for name in checks if row.startswith(name)])]
check("rows of the table", len(rows), 22)
check("rows with a check", sorted(headers), sorted(checks))
for header in headers:
    controller.write("ABOR;*CLS")
    assert checks[header](), f"conformance: {header}"
    controller.write("*CLS;*ESE 0;*SRE 0")
    check(f"errors after {header}", controller.query("SYST:ERR?"), '0,"No error"')
print(f"{len(rows)} rows of the conformance table, {len(headers)} checks")

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
