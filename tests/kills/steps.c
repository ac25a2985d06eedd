/* Counts what a process does to the files under one folder, and ends it, or lets the disk be full, at one step.

   Loaded before the C library (LD_PRELOAD). A step is: a file made, some bytes written, a file or folder put on the
   disk, a length cut, a name given, exchanged or taken away, a folder made. STEPS_UNDER: the folder. STEPS_LOG: a file
   that gets one letter a step. STEPS_AT: the number of the step, from 1, at which something happens. STEPS_HOW:
   "before" or "after" it the process is killed (SIGKILL); "half": half of its bytes are written first; "full": from that
   step on whatever needs room on the disk fails (ENOSPC), as on a disk that fills up, a part of the bytes written once;
   "failed": this one step fails (EIO); "denied": from that step on nothing is made, named or taken away (EACCES), as in a
   folder that was made read-only. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

static int count;

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

static int under(const char *path) {
    const char *folder = getenv("STEPS_UNDER");
    char whole[PATH_MAX];
    if (!folder || !path) return 0;
    if (path[0] != '/') {
        if (!getcwd(whole, sizeof whole)) return 0;
        size_t at = strlen(whole);
        snprintf(whole + at, sizeof whole - at, "/%s", path);
        path = whole;
    }
    return strncmp(path, folder, strlen(folder)) == 0;
}

static int under_handle(int handle) {
    char link[64], path[PATH_MAX];
    struct stat seen;
    if (fstat(handle, &seen) || !(S_ISREG(seen.st_mode) || S_ISDIR(seen.st_mode))) return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", handle);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return under(path);
}

/* Count a step; return whether it fails, with errno set. half: whether a part of its bytes is to be written. */
static int step(char letter, int needs_room, int *half) {
    const char *log = getenv("STEPS_LOG"), *how = getenv("STEPS_HOW"), *at = getenv("STEPS_AT");
    int due = at && ++count == atoi(at), after = at && count > atoi(at);
    if (half) *half = 0;
    if (log) {
        int handle = REAL(open)(log, O_WRONLY | O_CREAT | O_APPEND, 0600);
        if (REAL(write)(handle, &letter, 1) != 1) abort();
        close(handle);
    }
    if (!how || !at || !(due || after)) return 0;
    if (due && !strcmp(how, "before")) raise(SIGKILL);
    if (due && !strcmp(how, "half")) {
        if (half && letter == 'w') *half = 1; else raise(SIGKILL);
    }
    if (due && !strcmp(how, "failed")) { errno = EIO; return 1; }
    if (!strcmp(how, "denied") && strchr("odlru", letter)) { errno = EACCES; return 1; }
    if (!strcmp(how, "full") && needs_room) {
        if (due && half && letter == 'w') { *half = 1; return 0; }
        errno = ENOSPC;
        return 1;
    }
    return 0;
}

static void after_it(void) {
    const char *how = getenv("STEPS_HOW"), *at = getenv("STEPS_AT");
    if (how && at && count == atoi(at) && (!strcmp(how, "after") || !strcmp(how, "half"))) raise(SIGKILL);
}

static ssize_t some(int half, size_t size) { return half ? (ssize_t)(size / 2) : (ssize_t)size; }

ssize_t write(int handle, const void *bytes, size_t size) {
    int half;
    if (!under_handle(handle)) return REAL(write)(handle, bytes, size);
    if (step('w', 1, &half)) return -1;
    ssize_t done = REAL(write)(handle, bytes, some(half, size));
    after_it();
    return done;
}

#define STEP(letter, room, call) { if (step(letter, room, NULL)) return -1; int done = call; int kept = errno; after_it(); errno = kept; return done; }

int fsync(int handle) {
    if (!under_handle(handle)) return REAL(fsync)(handle);
    STEP('s', 0, REAL(fsync)(handle))
}
int ftruncate(int handle, off_t size) {
    if (!under_handle(handle)) return REAL(ftruncate)(handle, size);
    STEP('t', 0, REAL(ftruncate)(handle, size))
}
int ftruncate64(int handle, off64_t size) {
    if (!under_handle(handle)) return REAL(ftruncate64)(handle, size);
    STEP('t', 0, REAL(ftruncate64)(handle, size))
}
int link(const char *from, const char *to) {
    if (!under(to)) return REAL(link)(from, to);
    STEP('l', 1, REAL(link)(from, to))
}
int linkat(int one, const char *from, int other, const char *to, int flags) {
    if (!under(to)) return REAL(linkat)(one, from, other, to, flags);
    STEP('l', 1, REAL(linkat)(one, from, other, to, flags))
}
int rename(const char *from, const char *to) {
    if (!under(to)) return REAL(rename)(from, to);
    STEP('r', 0, REAL(rename)(from, to))
}
int renameat(int one, const char *from, int other, const char *to) {
    if (!under(to)) return REAL(renameat)(one, from, other, to);
    STEP('r', 0, REAL(renameat)(one, from, other, to))
}
int unlink(const char *path) {
    if (!under(path)) return REAL(unlink)(path);
    STEP('u', 0, REAL(unlink)(path))
}
int mkdir(const char *path, mode_t mode) {
    if (!under(path)) return REAL(mkdir)(path, mode);
    STEP('d', 1, REAL(mkdir)(path, mode))
}

static int opens(const char *path, int flags) { return (flags & O_CREAT) && under(path) && access(path, F_OK) != 0; }

int open(const char *path, int flags, ...) {
    va_list rest;
    va_start(rest, flags);
    mode_t mode = va_arg(rest, mode_t);
    va_end(rest);
    if (!opens(path, flags)) return REAL(open)(path, flags, mode);
    STEP('o', 1, REAL(open)(path, flags, mode))
}
int open64(const char *path, int flags, ...) {
    va_list rest;
    va_start(rest, flags);
    mode_t mode = va_arg(rest, mode_t);
    va_end(rest);
    if (!opens(path, flags)) return REAL(open64)(path, flags, mode);
    STEP('o', 1, REAL(open64)(path, flags, mode))
}
