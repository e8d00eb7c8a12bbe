"""Runs a program on a pseudo-terminal of 80 columns and types a line of a file at each prompt. Prints the screen."""
import fcntl, os, pty, select, struct, sys, termios, time

answers = open(sys.argv[1]).read().split("\n")[:-1]
pid, terminal = pty.fork()
if pid == 0:
    os.environ["TERM"] = "xterm"
    os.execvp(sys.argv[2], sys.argv[2:])
fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
screen, unread, end = b"", b"", time.time() + 120
while time.time() < end:
    ready, _, _ = select.select([terminal], [], [], 0.3)
    if ready:
        try:
            data = os.read(terminal, 65536)
        except OSError:
            break
        if not data:
            break
        screen += data
        unread += data
    elif unread.rstrip(b"\x1b[?1hl=").endswith(b": ") and answers:
        # Quiet after a prompt: the program waits.
        unread = b""
        os.write(terminal, answers.pop(0).encode() + b"\n")
import re
text = re.sub(rb"\x1b[\[=>][0-9;?]*[A-Za-z]?", b"", screen).decode().replace("\r", "")
sys.stdout.write(text)
sys.exit(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]))
