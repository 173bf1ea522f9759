"""A foreign host: python3-can on the simulated serial-line CAN adapter. Prints one JSON object a frame heard."""
import json
import sys
import time

import can
from can.interfaces.slcan import slcanBus

port, bitrate = sys.argv[1], int(sys.argv[2])
bus = slcanBus(port, bitrate=bitrate, sleep_after_open=0.2)


def ask(can_id, data, extended, seconds):
    """Until the engine has answered this request; what others say is printed as well."""
    engine = 0x18DAF110 if extended else 0x7E8
    bus.send(can.Message(arbitration_id=can_id, data=data, is_extended_id=extended))
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        frame = bus.recv(0.2)
        if frame is None:
            continue
        print(json.dumps({"id": f"{frame.arbitration_id:X}", "data": frame.data.hex().upper()}), flush=True)
        if frame.arbitration_id != engine:
            continue
        kind = frame.data[0] >> 4
        if kind == 1:  # first frame: let the rest come
            unit = 0x18DA10F1 if extended else 0x7E0
            bus.send(can.Message(arbitration_id=unit, data=[0x30] + [0] * 7, is_extended_id=extended))
        if (kind == 2 and frame.data[0] & 0x0F == 2) or (kind == 0 and frame.data[2] == data[2]):
            return


extended = sys.argv[3] == "29"
functional = 0x18DB33F1 if extended else 0x7DF
pad = [0] * 5
ask(functional, [2, 1, 0, *pad], extended, 30)
ask(functional, [2, 1, 0x0C, *pad], extended, 30)
ask(functional, [2, 9, 2, *pad], extended, 30)
print(json.dumps({"version": list(bus.get_version(10)), "done": True}), flush=True)
bus.shutdown()
