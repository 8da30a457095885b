//! All integration tests in one program: forty programs would link the library forty times.
//!
//! `flow::every_test_file_is_in_the_program` fails when a file of this folder is not named here.

mod common;

mod bench_files;
mod dispensers;
mod everyday;
mod everyday_commands;
mod flow;
mod golden;
mod hand_stocks;
mod hand_worked;
mod laws_analysis;
mod laws_batch;
mod laws_desk;
mod laws_everyday;
mod laws_flight_orders;
mod laws_ladders;
mod laws_orders;
mod laws_planner;
mod laws_scores;
mod laws_session;
mod laws_stocks;
mod laws_text;
mod laws_water;
mod laws_why;
mod mistakes;
mod next_flight;
mod oracle_draws;
mod oracle_lp;
mod oracle_milp;
mod oracle_mixed;
mod oracle_stocks;
mod oracle_surface;
mod oracle_tables;
mod oracle_tasting;
mod oracle_water;
mod prepared_session;
mod same_water;
mod session_kills;
mod session_results;
mod session_table;
mod session_texts;
mod sessions;
mod stock_records;
mod story;
mod water_reports;
mod whole_sessions;
