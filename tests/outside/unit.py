"""A foreign peer: python3-can plays adapter and control unit at the far end of a wire. It never acknowledges."""
import sys

import can
from can.interfaces.slcan import slcanBus

# python3-can writes and reads the same lines at either end; commands such as S6 or O pass it by.
bus = slcanBus(sys.argv[1], sleep_after_open=0)
VIN = b"TESTPEER000000001"
long_rest = []
print("ready", flush=True)


def say(data):
    data = list(data)
    bus.send(can.Message(arbitration_id=0x7E8, data=data + [0xCC] * (8 - len(data)), is_extended_id=False))


while True:
    try:
        frame = bus.recv(1)
    except (ValueError, IndexError, UnicodeDecodeError):
        continue  # a line of the search for other adapters
    if frame is None or frame.is_extended_id:
        continue
    data = bytes(frame.data)
    if frame.arbitration_id == 0x7E0 and data and data[0] == 0x30:
        for part in long_rest:
            say(part)
        long_rest = []
        continue
    if frame.arbitration_id not in (0x7DF, 0x7E0) or len(data) < 3 or data[0] >> 4:
        continue
    request = data[1 : 1 + data[0]]
    if request == b"\x01\x00":
        say([6, 0x41, 0, 0x08, 0x18, 0, 0])  # 05, 0C, 0D
    elif request == b"\x09\x02":
        answer = b"\x49\x02\x01" + VIN
        long_rest = [bytes([0x20 + i]) + answer[7 * i - 1 : 7 * i + 6] for i in (1, 2)]
        say(bytes([0x10, len(answer)]) + answer[:6])
    elif request[:1] == b"\x01":
        table = {0x05: b"\x7b", 0x0C: b"\x1a\xf8", 0x0D: b"\x32"}
        answer = b"\x41" + b"".join(bytes([p]) + table[p] for p in request[1:] if p in table)
        if len(answer) > 7:
            long_rest = [bytes([0x21]) + answer[6:]]
            say(bytes([0x10, len(answer)]) + answer[:6])
        elif len(answer) > 1:
            say(bytes([len(answer)]) + answer)
