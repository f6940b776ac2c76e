/* process.h - starts the program in a process of its own, with its output in files, and ends only what it started.
 *
 * Every wait has a limit; a child that outlives it is killed by its id and the wait answers PROCESS_HUNG.
 */
#ifndef AID_PROCESS_H
#define AID_PROCESS_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#define PROCESS_HUNG 1000   /* had to be killed */
#define PROCESS_SIGNAL 2000 /* plus the signal that ended it */
#define PROCESS_PATH_MAX 256

struct process {
    pid_t pid; /* 0: not running */
    char out_path[PROCESS_PATH_MAX], err_path[PROCESS_PATH_MAX];
};

/* The program under test: $UNDERFOOT_BIN, else build/underfoot. */
const char *process_program(void);

/* Starts argv[0..], ended by NULL, with stdout and stderr in FOLDER/NAME.out and .err, no display, and the
 * store in FOLDER/data. Returns false when it can't be started. */
bool process_start(struct process *p, const char *folder, const char *name, const char *const *argv);

void process_signal(const struct process *p, int number);

/* Exit code, PROCESS_SIGNAL + n, or PROCESS_HUNG. */
int process_wait(struct process *p, int timeout_ms);

/* Start and wait. */
int process_run(struct process *p, const char *folder, const char *name, int timeout_ms, const char *const *argv);

/* The program with these words, which hold no space; %s in them is the folder. Output is in FOLDER/run.out, .err.
 * PROCESS_HUNG also when they are too long. */
int process_run_words(struct process *p, const char *folder, int timeout_ms, const char *words);

/* Waits until the file holds a whole first line; copies it without its newline. */
bool process_first_line(const char *path, char *out, size_t cap, int timeout_ms);

/* The file's text, at most cap - 1 bytes; "" when there is none. Returns out. */
char *process_read(const char *path, char *out, size_t cap);

int process_count_lines(const char *text);

#endif
