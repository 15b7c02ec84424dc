# The unit of `spanwalk service-unit`, started by a systemd of its own: process 1 of namespaces that see this machine's files.
# Called by tests/running/test_under_systemd.py: PYTHON (its folder) SITE (packages) CHECKOUT OUT. All else of systemd's own is
# switched off there, so that it changes nothing of this machine.
set -eu
python=$1 packages=$2 checkout=$3 out=$4
umount -R /sys/fs/cgroup
mount -t cgroup2 none /sys/fs/cgroup
mount -t tmpfs tmpfs /run
mkdir -p /run/systemd/system /run/lock /run/here
for unit in /lib/systemd/system/*.target.wants/* /etc/systemd/system/*.target.wants/*; do
    ln -sf /dev/null "/run/systemd/system/$(basename "$unit")"
done
for file in passwd group; do
    cp "/etc/$file" "/run/here/$file"
    mount --bind "/run/here/$file" "/etc/$file"
done
echo 'spanwalk:x:990:990::/nonexistent:/usr/sbin/nologin' >> /etc/passwd
echo 'spanwalk:x:990:' >> /etc/group
# What a person of no rights can read, away from homes and temporary folders, which the unit hides.
mount -t tmpfs tmpfs /mnt
mkdir /mnt/code /mnt/python /mnt/packages /mnt/data
cp -r "$checkout/server" "$checkout/pwa" "$checkout/seed_data" /mnt/code/ 2>/dev/null || true
mount --bind "$python" /mnt/python
mount --bind "$packages" /mnt/packages
cat > /mnt/spanwalk <<'PROGRAM'
#!/bin/sh
PYTHONPATH=/mnt/code/server:/mnt/packages exec /mnt/python/bin/python3 -m spanwalk.cli "$@"
PROGRAM
chmod 755 /mnt /mnt/code /mnt/spanwalk
/mnt/spanwalk service-unit --data /mnt/data > /run/here/unit
sed 's#^ExecStart=[^ ]*#ExecStart=/mnt/spanwalk#' /run/here/unit > /run/systemd/system/spanwalk.service
umask 077
echo 'walk the span' | /mnt/spanwalk init --data /mnt/data --owner owner --password-from -
chown -R 990:990 /mnt/data
chmod 700 /mnt/data
ip link set lo up
(
    cd "$checkout"
    until systemctl is-active spanwalk; do sleep 1; done
    PYTHONPATH="$checkout:$checkout/server:$packages" "$python/bin/python3" -m tests.support.under_systemd || true
    systemctl stop spanwalk
    systemctl show spanwalk --property=Result,ActiveState,ExecMainStatus,ExecMainCode
    echo end
) > "$out" 2>&1 &
export container=other
exec /lib/systemd/systemd --system --unit=spanwalk.service --log-target=null
