"""The unit with which systemd runs an installation: not as root, into one folder only, ended gently and begun again."""

from __future__ import annotations

from pathlib import Path

STOP_S = 40
"""Longer than a server takes to answer what it is asked when it is told to end."""
UNIT = """\
# Written by `spanwalk service-unit`. As root:
#   adduser --system --group --home /var/lib/{user} {user}
#   spanwalk service-unit > /etc/systemd/system/spanwalk.service
#   runuser -u {user} -- env SPANWALK_DATA={data} {program} init
#   systemctl daemon-reload && systemctl enable --now spanwalk
# Settings stand in /etc/spanwalk.env, NAME=value, readable by root only (chmod 600).
[Unit]
Description=Spanwalk, survey and conversion of lighting
Documentation=file:{documentation}
Wants=network-online.target
After=network-online.target postgresql.service

[Service]
Type=exec
User={user}
Group={user}
Environment=SPANWALK_DATA={data}
EnvironmentFile=-/etc/spanwalk.env
ExecStart={program} serve --host 127.0.0.1 --port {port}
Restart=on-failure
RestartSec=2
TimeoutStopSec={stop}
UMask=0077
ReadWritePaths={data}
ProtectSystem=strict
ProtectHome=read-only
PrivateTmp=yes
PrivateDevices=yes
NoNewPrivileges=yes
CapabilityBoundingSet=
AmbientCapabilities=
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
ProtectClock=yes
ProtectControlGroups=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
ProtectProc=invisible
ProcSubset=pid
RemoveIPC=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged

[Install]
WantedBy=multi-user.target
"""


def unit_text(program: Path, data: Path, user: str, port: int) -> str:
    """The unit.

    Parameters
    ----------
    program : Path
        The command `spanwalk` of this installation.
    data : Path
        The one folder that it may write into.
    user : str
        Whom it runs as.
    port : int
        On this machine only: a proxy stands before it.

    Raises
    ------
    ValueError
        A path or name that would end a line of the unit, or begin a word of it.
    """
    for told in (str(program), str(data), user):
        if not told.isprintable() or set(told) & set(" %\"'\\$"):
            raise ValueError(told)
    documentation = Path(__file__).parents[2] / "running.md"
    return UNIT.format(program=program, data=data, user=user, port=port, stop=STOP_S, documentation=documentation)
