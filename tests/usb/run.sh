#!/bin/bash
# The real libserialport against a real kernel driver: a QEMU machine (software emulation, no KVM, no network)
# with an emulated USB serial adapter that is unplugged and plugged in again by QEMU's monitor.
#
# Usage: tests/usb/run.sh UNDERFOOT LINE_FACTS DIR      (`make test-usb`)
#   UNDERFOOT    the program        LINE_FACTS   tests/usb/line_facts.c built        DIR   for what is made here
#
# Needs: qemu-system-x86 busybox-static cpio (Debian packages), python3, and a Debian kernel. A kernel that is
# installed is taken (/boot/vmlinuz-* with its modules); else its package is fetched by `apt-get download` and
# unpacked into DIR (about 70 MB, no root, nothing installed, no boot loader touched). UNDERFOOT_USB_KERNEL=DIR
# names an unpacked one (with boot/ and lib/modules/). Exit code 77 and a `skipped` line where something is missing.
#
# What the guest holds: busybox, tests/usb/init, the drivers, the program with its shared libraries, line_facts.
# What is checked: tests/usb/scenarios.py. Takes 2 min 15 s on 2 cores; fetching and unpacking
# the kernel, once, 15 s more.
set -u
here=$(cd "$(dirname "$0")" && pwd)
program=$1 line_facts=$2 dir=$3
mkdir -p "$dir"
dir=$(cd "$dir" && pwd)

skip() {
    echo "skipped: $1"
    echo "0 passed, 0 failed, 1 skipped"
    exit 77
}

command -v qemu-system-x86_64 >/dev/null || skip "no qemu-system-x86_64 (Debian package qemu-system-x86)"
command -v cpio >/dev/null || skip "no cpio"
busybox=$(command -v busybox) && ! ldd "$busybox" >/dev/null 2>&1 ||
    skip "no static busybox (Debian package busybox-static)"
[ "$(uname -m)" = x86_64 ] || skip "the guest runs this computer's own program, which must be x86-64"

# ---------------------------------------------------------------- the kernel

# $1: root of a system or an unpacked package. Prints the version of its newest kernel with a driver for the
# adapter; nothing without one.
find_kernel() {
    local image version
    for image in $(ls -r "$1"/boot/vmlinuz-* 2>/dev/null); do
        version=${image##*/vmlinuz-}
        compgen -G "$1/lib/modules/$version/kernel/drivers/usb/serial/ftdi_sio.ko*" >/dev/null || continue
        [ -r "$image" ] && echo "$version" && return
    done
}

fetch_kernel() {
    local package
    package=$(apt-cache depends linux-image-amd64 2>/dev/null | sed -n 's/.*Depends: \(linux-image-[0-9].*\)/\1/p' | head -1)
    [ -n "$package" ] || return 1
    echo "fetching $package"
    rm -rf "$dir/fetch" "$dir/kernel"
    mkdir -p "$dir/fetch"
    (cd "$dir/fetch" && timeout 300 apt-get download -q "$package" >/dev/null 2>fetch.log) || return 1
    mkdir -p "$dir/kernel" # of some 400 MB, only what the guest may need
    dpkg-deb --fsys-tarfile "$dir"/fetch/*.deb | tar -x -C "$dir/kernel" --wildcards './boot/vmlinuz-*' \
        '*/kernel/drivers/usb/*' '*/kernel/drivers/virtio/*' '*/kernel/drivers/char/*'
    rm -rf "$dir/fetch"
}

root=${UNDERFOOT_USB_KERNEL:-}
version=$(find_kernel "$root")
if [ -z "$version" ] && [ -z "$root" ]; then
    root=$dir/kernel
    version=$(find_kernel "$root")
    [ -z "$version" ] && fetch_kernel && version=$(find_kernel "$root")
fi
[ -n "$version" ] || skip "no Debian kernel here, and linux-image-amd64 cannot be fetched"

# ---------------------------------------------------------------- what the guest holds

# In the order of their needs; what a kernel has built in is not there as a file.
modules="virtio_ring virtio virtio_pci_legacy_dev virtio_pci_modern_dev virtio_pci virtio_console
         usb-common usbcore xhci-hcd xhci-pci usbserial ftdi_sio"

build_guest() {
    local guest=$dir/guest module file
    rm -rf "$guest"
    mkdir -p "$guest"/{bin,dev,proc,sys,modules,opt}
    cp "$busybox" "$guest/bin/busybox"
    "$busybox" --list | grep -vx busybox | while read -r file; do ln -sf busybox "$guest/bin/$file"; done
    install -m755 "$here/init" "$guest/init"
    install -m755 "$program" "$guest/bin/underfoot"
    install -m755 "$line_facts" "$guest/bin/line_facts"
    ldd "$program" "$line_facts" | grep -oE '/[^ ]+ \(0x' | sed 's/ (0x//' | sort -u |
        while read -r file; do (cd "$guest" && mkdir -p ".${file%/*}" && cp -L "$file" ".$file"); done
    for module in $modules; do
        file=$(find "$root/lib/modules/$version/kernel" -name "$module.ko*" | head -1)
        case $file in
        '') continue ;;
        *.xz) xz -dc "$file" >"$guest/modules/$module.ko" ;;
        *.zst) zstd -dcq "$file" >"$guest/modules/$module.ko" ;;
        *) cp "$file" "$guest/modules/$module.ko" ;;
        esac
        echo "$module.ko" >>"$guest/modules/order"
    done
    (cd "$guest" && find . | cpio --quiet -o -H newc -R 0:0) >"$dir/initramfs"
}

build_guest || { echo "the guest's files could not be built"; echo "0 passed, 1 failed, 0 skipped"; exit 1; }
exec /usr/bin/python3 -B "$here/scenarios.py" "$root/boot/vmlinuz-$version" "$dir/initramfs" "$program" "$dir" "${@:4}"
