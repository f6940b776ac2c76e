/* commands.h - every command of the program. Each lives in cli/cmd_<name>.c and stands in main.c's table.
 *
 * argv[0] is the command's name. Returns the exit code: 0 fine, 1 the work failed, 2 usage. Messages go
 * to stderr, data to stdout.
 */
#ifndef CLI_COMMANDS_H
#define CLI_COMMANDS_H

int cmd_desk(int argc, char **argv);   /* no command: the panel, and the runner's screen */
int cmd_demo(int argc, char **argv);   /* the display with a simulated runner and a throw-away store */
int cmd_live(int argc, char **argv);   /* a sensor on a port, the display, and the store */
int cmd_replay(int argc, char **argv); /* a recording through the display */
int cmd_steps(int argc, char **argv);  /* a recording or a force trace to a step table */
int cmd_mimic(int argc, char **argv);  /* a simulated sensor on a pseudo-terminal */
int cmd_ports(int argc, char **argv);  /* serial ports, one a line */
int cmd_check(int argc, char **argv);  /* is the sensor fit for use? */
int cmd_calibrate(int argc, char **argv); /* zero, gain, even elements */
int cmd_visits(int argc, char **argv); /* stored visits */
int cmd_runner(int argc, char **argv); /* runners: add, list, show, edit, forget */
int cmd_report(int argc, char **argv); /* a page of a visit or a course */
int cmd_export(int argc, char **argv); /* a visit for other programs */
int cmd_keep(int argc, char **argv);
int cmd_restore(int argc, char **argv);
int cmd_repair(int argc, char **argv);   /* a copy of the store */
int cmd_remeasure(int argc, char **argv); /* visits measured again from their recordings */

#endif
