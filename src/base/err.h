/* err.h - what a refused outside resource answers.
 *
 * Three families (see DEVELOPERS.md): our own mistakes are asserts; bad data are counted and skipped;
 * only the world's refusals (no port, disc full, bad profile) are an enum err. The object that failed
 * keeps one plain sentence for the operator in its why[]: what, which, and what to do.
 */
#ifndef BASE_ERR_H
#define BASE_ERR_H

enum err {
    ERR_OK = 0,
    ERR_OS,          /* the operating system refused; errno's text is in why[] */
    ERR_FORMAT,      /* the file or stream is not what it should be */
    ERR_UNSUPPORTED, /* a newer version, a kind we do not know */
    ERR_MEMORY,
    ERR_GONE,        /* was there, is no more: unplugged, deleted, ended */
    ERR_USAGE,       /* the operator's words are off: exit code 2 */
};

#define ERR_WHY_MAX 512

#endif
