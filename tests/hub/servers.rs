//! The servers of the tests themselves: what the laws below them take for granted.

use support::postgres::Server;
use support::waiting::wait;

/// What was committed outlives a kill, and a standby that is promoted has what it was sent.
#[test]
fn a_killed_server_has_what_was_committed_and_a_promoted_standby_too() {
    let Some(mut primary) = Server::start() else { return };
    primary.sql("CREATE TABLE kept (n int); INSERT INTO kept VALUES (7)");
    primary.kill();
    primary.go_on();
    assert_eq!(primary.sql("SELECT n FROM kept"), "7");

    let standby = primary.standby();
    primary.sql("INSERT INTO kept VALUES (8)");
    wait(
        || "the standby has both".to_owned(),
        || (standby.sql("SELECT count(*) FROM kept") == "2").then_some(()),
    );
    primary.kill();
    standby.promote();
    standby.sql("INSERT INTO kept VALUES (9)");
    assert_eq!(standby.sql("SELECT string_agg(n::text, ' ' ORDER BY n) FROM kept"), "7 8 9");
}
