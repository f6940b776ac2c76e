#define _GNU_SOURCE /* flock, major, minor */
#include "base/str.h"
#include "link/port_lock.h"

#include "base/message.h"
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>

#define LOCK_LIST "/proc/locks"

/* The program's short name, as the system has it; "" when it can't be told. */
static void
name_of(int pid, struct port_lock_holder *out)
{
    char path[64], name[64] = "";
    snprintf(path, sizeof path, "/proc/%d/comm", pid);
    FILE *f = fopen(path, "r");
    if (f != NULL) {
        if (fgets(name, sizeof name, f) == NULL)
            name[0] = 0;
        fclose(f);
        name[strcspn(name, "\n")] = 0;
    }
    out->pid = pid;
    str_copy(out->name, sizeof out->name, name);
}

static void
find_holder(const struct stat *st, const char *list_path, struct port_lock_holder *out)
{
    char line[256], kind[16];
    *out = (struct port_lock_holder){ 0 };
    FILE *f = fopen(list_path != NULL ? list_path : LOCK_LIST, "r");
    if (f == NULL)
        return;
    /* "1: FLOCK  ADVISORY  WRITE 1234 00:17:5 0 EOF": device in hexadecimal, inode in decimal. A line that waits for the
     * lock has an arrow before its kind, and does not match. */
    while (out->pid == 0 && fgets(line, sizeof line, f) != NULL) {
        unsigned device_major, device_minor;
        unsigned long long inode;
        int pid;
        if (sscanf(line, "%*d: %15s %*s %*s %d %x:%x:%llu", kind, &pid, &device_major, &device_minor, &inode) == 5 &&
            strcmp(kind, "FLOCK") == 0 && pid > 0 && inode == (unsigned long long) st->st_ino &&
            device_major == major(st->st_dev) && device_minor == minor(st->st_dev))
            name_of(pid, out);
    }
    fclose(f);
}

void
port_lock_find(const char *path, const char *list_path, struct port_lock_holder *out)
{
    struct stat st;
    *out = (struct port_lock_holder){ 0 };
    if (stat(path, &st) == 0)
        find_holder(&st, list_path, out);
}

static void
refuse(const char *path, const struct port_lock_holder *holder, struct message *why)
{
    if (holder->pid == 0)
        message_tell(why, MESSAGE_PORT_IN_USE_BY_OTHER, message_path(path));
    else if (holder->name[0] == '\0')
        message_tell(why, MESSAGE_PORT_IN_USE_BY_PROCESS, message_path(path), holder->pid);
    else
        message_tell(why, MESSAGE_PORT_IN_USE, message_path(path), holder->name, holder->pid);
}

void
port_lock_refusal(const char *path, struct message *why)
{
    struct port_lock_holder holder;
    port_lock_find(path, NULL, &holder);
    refuse(path, &holder, why);
}

enum err
port_lock_take(int fd, const char *path, struct message *why)
{
    struct port_lock_holder holder = { 0 };
    struct stat st;
    if (flock(fd, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK)
        return ERR_OK;
    if (fstat(fd, &st) == 0)
        find_holder(&st, NULL, &holder);
    refuse(path, &holder, why);
    return ERR_OS;
}
