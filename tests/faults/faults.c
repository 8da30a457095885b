/* A disk, a system and a clock that fail, put between the program and the C library with LD_PRELOAD.
 * What fails is said in the environment:
 *   FAULT_SYNC=TEXT    fsync and fdatasync of a file whose name holds TEXT fail with EIO
 *   FAULT_FOLDER=TEXT  the same of a folder whose name ends with TEXT
 *   FAULT_KILL=N       the process is killed before its Nth change of the disk
 *   FAULT_FULL=N       writes to files fail with ENOSPC after N bytes
 *   FAULT_NO_FLOCK=1   there are no locks       FAULT_NO_LINK=1     there are no links
 *   FAULT_NO_DIRSYNC=1 folders cannot be synced FAULT_NO_THREADS=1  no thread is to be had
 *   FAULT_YEARS=N      the clock is N years ahead
 *   FAULT_COUNT=FILE   the number of changes of the disk is written there at the end
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static long changes;
static long written;

static const char *asked(const char *name) {
    const char *value = getenv(name);
    return value && *value ? value : NULL;
}

static void change(void) {
    const char *at = asked("FAULT_KILL");
    changes++;
    if (at && changes >= atol(at)) {
        kill(getpid(), SIGKILL);
        for (;;) pause();
    }
}

__attribute__((destructor)) static void count(void) {
    const char *file = asked("FAULT_COUNT");
    if (file) {
        FILE *out = fopen(file, "w");
        if (out) { fprintf(out, "%ld", changes); fclose(out); }
    }
}

static void name_of(int fd, char *name, size_t size) {
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, name, size - 1);
    name[length < 0 ? 0 : length] = 0;
}

static int is_file(int fd) {
    struct stat about;
    return fstat(fd, &about) == 0 && S_ISREG(about.st_mode);
}

static int is_folder(int fd) {
    struct stat about;
    return fstat(fd, &about) == 0 && S_ISDIR(about.st_mode);
}

#define NEXT(type, name) ((type)dlsym(RTLD_NEXT, name))

static int sync_of(int fd, const char *which) {
    char name[4096];
    name_of(fd, name, sizeof name);
    const char *failing = asked("FAULT_SYNC");
    change();
    if (failing && strstr(name, failing)) { errno = EIO; return -1; }
    const char *folder = asked("FAULT_FOLDER");
    size_t length = strlen(name), end = folder ? strlen(folder) : 0;
    if (folder && is_folder(fd) && length >= end && strcmp(name + length - end, folder) == 0) {
        errno = EIO;
        return -1;
    }
    if (is_folder(fd) && asked("FAULT_NO_DIRSYNC")) { errno = EINVAL; return -1; }
    return NEXT(int (*)(int), which)(fd);
}

int fsync(int fd) { return sync_of(fd, "fsync"); }
int fdatasync(int fd) { return sync_of(fd, "fdatasync"); }

ssize_t write(int fd, const void *bytes, size_t length) {
    ssize_t (*next)(int, const void *, size_t) = NEXT(ssize_t (*)(int, const void *, size_t), "write");
    if (!is_file(fd)) return next(fd, bytes, length);
    const char *room = asked("FAULT_FULL");
    change();
    if (room) {
        long left = atol(room) - written;
        if (left <= 0) { errno = ENOSPC; return -1; }
        if ((long)length > left) length = (size_t)left;
    }
    ssize_t done = next(fd, bytes, length);
    if (done > 0) written += done;
    return done;
}

int open64(const char *path, int flags, ...) {
    mode_t mode = 0;
    if (flags & O_CREAT) {
        va_list more;
        va_start(more, flags);
        mode = va_arg(more, mode_t);
        va_end(more);
        change();
    }
    return NEXT(int (*)(const char *, int, mode_t), "open64")(path, flags, mode);
}

int open(const char *path, int flags, ...) {
    mode_t mode = 0;
    if (flags & O_CREAT) {
        va_list more;
        va_start(more, flags);
        mode = va_arg(more, mode_t);
        va_end(more);
        change();
    }
    return NEXT(int (*)(const char *, int, mode_t), "open")(path, flags, mode);
}

int mkdir(const char *path, mode_t mode) {
    change();
    return NEXT(int (*)(const char *, mode_t), "mkdir")(path, mode);
}

int rename(const char *from, const char *to) {
    change();
    return NEXT(int (*)(const char *, const char *), "rename")(from, to);
}

int unlink(const char *path) {
    change();
    return NEXT(int (*)(const char *), "unlink")(path);
}

int link(const char *from, const char *to) {
    change();
    if (asked("FAULT_NO_LINK")) { errno = EPERM; return -1; }
    return NEXT(int (*)(const char *, const char *), "link")(from, to);
}

int linkat(int a, const char *from, int b, const char *to, int flags) {
    change();
    if (asked("FAULT_NO_LINK")) { errno = EPERM; return -1; }
    return NEXT(int (*)(int, const char *, int, const char *, int), "linkat")(a, from, b, to, flags);
}

int ftruncate64(int fd, off64_t length) {
    change();
    return NEXT(int (*)(int, off64_t), "ftruncate64")(fd, length);
}

int flock(int fd, int operation) {
    if (asked("FAULT_NO_FLOCK")) { errno = ENOSYS; return -1; }
    return NEXT(int (*)(int, int), "flock")(fd, operation);
}

int pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *with) {
    if (asked("FAULT_NO_THREADS")) return EAGAIN;
    return NEXT(int (*)(pthread_t *, const pthread_attr_t *, void *(*)(void *), void *),
                "pthread_create")(thread, attributes, run, with);
}

int clock_gettime(clockid_t clock, struct timespec *now) {
    int done = NEXT(int (*)(clockid_t, struct timespec *), "clock_gettime")(clock, now);
    const char *years = asked("FAULT_YEARS");
    if (done == 0 && years && clock == CLOCK_REALTIME) now->tv_sec += 31556952L * atol(years);
    return done;
}
