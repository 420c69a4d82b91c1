"""Learns the network of crates/search from positions of the program's own games.

    train.py learn NETWORK EPOCHS rate RESULT START FILE...
        learns from FILEs, beginning with the network START, or with chance if
        that is "-", and writes NETWORK; the game's result counts RESULT, the
        search's value the rest
    train.py check NETWORK FILE
        prints what NETWORK makes of each position

Needs PyTorch; uses a GPU if one is there. The form of the positions is told in
src/record.rs, that of the network in crates/search/src/network.rs. `check`
works in integers of NumPy, so that the program's own values can be held against
it.

What is learnt: the chance of scoring, between what the search's value says and
how the game went on, if there was a game.
"""

import sys
import time

import numpy as np

HIDDEN = 128
INPUTS = 768
BUCKETS = 8
ON = 127  # A unit that is wholly on; also one in the first layer's weights.
ONE = 64  # One in the last layer's weights.
MOST_WEIGHT = 255 / ONE
RECORD = 40
BATCH = 16384
ODDS = 400  # Centipawns that make the odds of scoring e to 1; an output of one.
HELD = 50  # One game in so many is held out.
SEED = 1


def read(paths):
    """Records (n, 40)."""
    raw = np.concatenate([np.fromfile(path, dtype=np.uint8) for path in paths])
    return raw[: len(raw) // RECORD * RECORD].reshape(-1, RECORD)


def boards(raw, empty):
    """Boards (n, 64) of records; `empty` makes room for them."""
    board = empty((len(raw), 64))
    board[:, 0::2] = raw[:, :32] & 15
    board[:, 1::2] = raw[:, :32] >> 4
    return board


def turned():
    """How the other side sees a board: its men are codes 1-6, ours 7-12."""
    codes = np.arange(16, dtype=np.uint8)
    codes[1:7], codes[7:13] = np.arange(7, 13), np.arange(1, 7)
    return codes


def fnv(data):
    total = 0xCBF29CE484222325
    for byte in data:
        total = (total ^ byte) * 0x100000001B3 % 2**64
    return total


def write(path, scale, inputs, bias, last, last_bias):
    head = b"keyproof" + np.array([1, HIDDEN, BUCKETS, scale], dtype="<u2").tobytes()
    data = head + inputs.astype("i1").tobytes() + bias.astype("<i2").tobytes()
    data += last.astype("<i2").tobytes() + last_bias.astype("<i4").tobytes()
    with open(path, "wb") as file:
        file.write(data + fnv(data).to_bytes(8, "little"))


def load(path):
    data = open(path, "rb").read()
    assert data[:8] == b"keyproof" and fnv(data[:-8]) == int.from_bytes(data[-8:], "little")
    scale, at = int(np.frombuffer(data, "<u2", 4, 8)[3]), 16
    parts = []
    for kind, shape in [
        ("i1", (INPUTS, HIDDEN)),
        ("<i2", (HIDDEN,)),
        ("<i2", (BUCKETS, 2, HIDDEN)),
        ("<i4", (BUCKETS,)),
    ]:
        count = int(np.prod(shape))
        parts.append(np.frombuffer(data, kind, count, at).reshape(shape).astype(np.int64))
        at += count * np.dtype(kind).itemsize
    return scale, parts


def check(network, path):
    scale, (inputs, bias, last, last_bias) = load(network)
    board = boards(read([path]), lambda shape: np.empty(shape, dtype=np.uint8))
    other = turned()
    for own in board:
        men = int((own != 0).sum())
        bucket = min((men - 2) // 4, BUCKETS - 1)
        total = 0
        for side, seen in enumerate([own, other[own.reshape(8, 8)[::-1].reshape(64)]]):
            king = int(np.flatnonzero(seen == 6)[0])
            if king % 8 < 4:
                seen = seen.reshape(8, 8)[:, ::-1].reshape(64)
            units = bias.copy()
            for square in np.flatnonzero(seen):
                units += inputs[(int(seen[square]) - 1) * 64 + square]
            units = units.clip(0, ON)
            total += int((units * units * last[bucket, side]).sum())
        output = int(total / ON) + int(last_bias[bucket])
        print(max(-10_000, min(10_000, int(output * scale / (ON * ONE)))))


def learn(network, epochs, rate, result_share, start, paths):
    import torch

    torch.manual_seed(SEED)
    torch.backends.cuda.matmul.allow_tf32 = True
    device = "cuda" if torch.cuda.is_available() else "cpu"
    raw = torch.from_numpy(read(paths)).to(device)
    print(f"{len(raw)} positions, on {device}", flush=True)
    board = boards(raw, lambda shape: torch.empty(shape, dtype=torch.uint8, device=device))
    value = raw[:, 32:34].contiguous().view(torch.int16)[:, 0].float()
    result = raw[:, 34].float() / 2
    held = raw[:, 36:40].contiguous().view(torch.int32)[:, 0] % HELD == 0
    del raw
    chance = torch.sigmoid(value / ODDS)
    share = torch.where(result > 1, 0.0, result_share)
    target = (1 - share) * chance + share * result
    del share
    train = torch.nonzero(~held)[:, 0]
    test = torch.nonzero(held)[:, 0]
    codes = torch.arange(1, 13, dtype=torch.uint8, device=device)
    other = torch.from_numpy(turned()).to(device)

    def seen(boards):
        """Inputs (n, 768) of boards (n, 64), mirrored so that the king is on e to h."""
        boards = boards.view(-1, 8, 8)
        king = (boards == 6).view(-1, 64).int().argmax(1)
        mirrored = (king % 8 < 4)[:, None, None]
        boards = torch.where(mirrored, boards.flip(2), boards).reshape(-1, 1, 64)
        return (boards == codes[None, :, None]).reshape(-1, INPUTS).float()

    def sides(boards):
        theirs = other[boards.long()].view(-1, 8, 8).flip(1).reshape(-1, 64)
        return seen(boards), seen(theirs)

    class Net(torch.nn.Module):
        def __init__(self):
            super().__init__()
            self.inputs = torch.nn.Parameter(torch.randn(INPUTS, HIDDEN) * 0.05)
            self.bias = torch.nn.Parameter(torch.full((HIDDEN,), 0.1))
            self.last = torch.nn.Parameter(torch.randn(BUCKETS, 2 * HIDDEN) * 0.05)
            self.last_bias = torch.nn.Parameter(torch.zeros(BUCKETS))

        def rounded(self, weights, one, exact):
            if exact:
                return weights
            return weights + ((weights * one).round() / one - weights).detach()

        def forward(self, boards, exact=True):
            inputs = self.rounded(self.inputs, ON, exact)
            bias = self.rounded(self.bias, ON, exact)
            last = self.rounded(self.last, ONE, exact)
            units = [(x @ inputs + bias).clamp(0, 1) ** 2 for x in sides(boards)]
            men = (boards != 0).sum(1)
            bucket = ((men - 2) // 4).clamp(0, BUCKETS - 1)
            return (torch.cat(units, 1) * last[bucket]).sum(1) + self.last_bias[bucket]

        @torch.no_grad()
        def clip(self):
            self.inputs.clamp_(-1, 1)
            self.bias.clamp_(-8, 8)
            self.last.clamp_(-MOST_WEIGHT, MOST_WEIGHT)

    net = Net().to(device)
    if start != "-":
        with torch.no_grad():
            for weights, own, one in zip(
                load(start)[1],
                [net.inputs, net.bias, net.last, net.last_bias],
                [ON, ON, ONE, ON * ONE],
            ):
                own.copy_(torch.from_numpy(weights).reshape(own.shape).float() / one)
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=1e-3)

    @torch.no_grad()
    def loss_held(exact):
        losses = [
            ((torch.sigmoid(net(board[part], exact)) - target[part]) ** 2).sum()
            for part in test.split(BATCH)
        ]
        return (torch.stack(losses).sum() / max(len(test), 1)).item()

    begun, steps = time.time(), max(1, epochs * len(train) // BATCH)
    order, at = train[torch.randperm(len(train), device=device)], 0
    for step in range(steps):
        if at + BATCH > len(order):
            order, at = train[torch.randperm(len(train), device=device)], 0
        part = order[at : at + BATCH]
        at += BATCH
        share = step / steps
        for group in optimiser.param_groups:
            group["lr"] = rate * max(0.01, (1 - share) ** 1.5)
        output = torch.sigmoid(net(board[part], exact=share < 0.5))
        loss = ((output - target[part]).abs() ** 2.5).mean()
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        optimiser.step()
        net.clip()
        if (10 * step) // steps != (10 * (step + 1)) // steps:
            print(f"{step + 1} of {steps} steps, {time.time() - begun:.0f} s: "
                  f"held-out loss {loss_held(share < 0.5):.6f}", flush=True)
    print(f"always the mean {((target[test] - target[train].mean()) ** 2).mean().item():.6f}, "
          f"the search's value {((chance[test] - target[test]) ** 2).mean().item():.6f}")
    with torch.no_grad():
        write(
            network,
            ODDS,
            (net.inputs * ON).round().cpu().numpy(),
            (net.bias * ON).round().cpu().numpy(),
            (net.last * ONE).round().cpu().numpy(),
            (net.last_bias * ON * ONE).round().cpu().numpy(),
        )


if __name__ == "__main__":
    if sys.argv[1:2] == ["check"] and len(sys.argv) == 4:
        check(sys.argv[2], sys.argv[3])
    elif sys.argv[1:2] == ["learn"] and len(sys.argv) > 7:
        learn(
            sys.argv[2],
            int(sys.argv[3]),
            float(sys.argv[4]),
            float(sys.argv[5]),
            sys.argv[6],
            sys.argv[7:],
        )
    else:
        sys.exit(__doc__)
