//! The page of the hub: setting it up, caring for it, and what to do at each of its words on a board.

use super::many_shops;
use super::page::Page;

/// Several stations of one shop, and the database in which they meet.
pub fn page() -> Page {
    let mut page = Page::new("hub", 7, "several stations of one shop, on PostgreSQL");
    page.text(
        "A station writes its own journal and never waits for a hub: with the cable pulled for a week nothing of its own work \
         changes. Where its profile names one, what is saved is sent there too, so that one lead sees all benches and one owner \
         has all of the history. The hub is a database of PostgreSQL 15 or newer, on any machine of the shop or at a provider; \
         its own replication, roles, backups and TLS are used as they are.",
    );
    page.told(TOLD);
    many_shops::add(&mut page);
    page
}

type Told = (&'static str, &'static str);

const TOLD: &[(&str, &[Told])] = &[
    (
        "Set it up",
        &[
            (
                "1. the server",
                "On Debian: `apt install postgresql`. In postgresql.conf: `listen_addresses` to the address that the stations reach, \
                 `password_encryption = scram-sha-256`, `max_connections` of at least four a station and ten more. In pg_hba.conf a \
                 line `hostssl dwell all ADDRESSES scram-sha-256` for the shop's own addresses, and none without ssl.",
            ),
            (
                "2. an authority of the shop's own",
                "Four commands, on the server, with its name in place of hub.example: \
                 `openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 3650 -subj '/CN=press room' -keyout ca.key -out \
                 ca.pem` makes the authority; \
                 `openssl req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj '/CN=hub.example' -addext \
                 'subjectAltName=DNS:hub.example' -keyout server.key -out server.csr` asks for the server's certificate; \
                 `openssl x509 -req -in server.csr -CA ca.pem -CAkey ca.key -days 825 -copy_extensions copy -out server.crt` gives it; \
                 `install -o postgres -m 600 server.key server.crt /etc/postgresql/15/main/` puts it where `ssl_cert_file` and \
                 `ssl_key_file` name it. Keep ca.key away from the server; ca.pem goes to each station.",
            ),
            (
                "3. the database",
                "`createuser --createrole --pwprompt shop` and `createdb --owner shop dwell`, as the server's own user. Then, from any \
                 machine: `dwell hub prepare --address postgres://shop@hub.example/dwell --ca ca.pem`. It can be run again at any time, \
                 and has to be after a dump was restored: rights and functions are set right again, and what is there stays.",
            ),
            (
                "4. each station",
                "`dwell hub add-station b --name 'South bench' --address postgres://shop@hub.example/dwell --ca ca.pem --password-file \
                 hub-password` makes its role and its password and prints the line `hub: ...` for its station.ron. The file goes to that \
                 station, mode 0600, owned by the board's user; the paths in the line are those of the machine that printed it: set them to where the two files \
                 lie on the station. Its id is the one in station.ron: no two stations of a shop share one.",
            ),
            (
                "passwords",
                "A station's stands in its `password_file`. The owner's is asked for nowhere: it comes from ~/.pgpass or from the file \
                 that PGPASSFILE names. None is ever an argument, and an address with one in it is an error.",
            ),
            (
                "without TLS",
                "Only over a local socket or to 127.0.0.1. Everywhere else the certificate is checked against `ca`, and its name against \
                 the address.",
            ),
        ],
    ),
    (
        "What the board says beside saved",
        &[
            ("hub", "The hub has all that is saved here."),
            (
                "hub 14 behind",
                "So many events wait to be sent; it goes on by itself, also after a week.",
            ),
            (
                "no hub since",
                "It cannot be reached since then: the work goes on, what is saved waits and is sent later.",
            ),
            (
                "START THE BOARD AGAIN before anything is recorded",
                "The hub has later events of this station, as after a backup was put in the journal's place or on a new machine. The \
                 start fetches them, checks their chain and goes on behind them; nobody writes here meanwhile.",
            ),
            (
                "NOT SENT TO THE HUB: it tells another history",
                "Both have events that the other lacks: two machines under one id, or work that was done after a restore without the hub. If \
                 this machine is the station, `dwell hub new-life` begins at the last event that both have: what the hub had behind it \
                 is kept there and counts no more, and the other machine is refused from then on.",
            ),
            (
                "NOT SENT TO THE HUB: another machine goes on as station",
                "Somebody began a new life elsewhere. Stop this board, or take the station back with `dwell hub new-life`.",
            ),
            (
                "NOT SENT TO THE HUB: another hub answers at its address",
                "Correct the address; or join the other hub with `dwell hub new-life`.",
            ),
            (
                "NOT SENT TO THE HUB: a server answers that another has taken the place of",
                "The old primary is back after a fail-over. Stop it: what is sent there would be lost.",
            ),
            (
                "NOT SENT TO THE HUB: the hub refused",
                "A right, a role or a password is missing: `dwell hub prepare` sets rights right, `add-station --renew` gives a new \
                 password. It is tried again once the profile is written anew or the board starts.",
            ),
            (
                "hub refused",
                "A hand is needed: the red line above says for what. What is saved here waits meanwhile.",
            ),
            (
                "THE HUB WAS NOT ASKED",
                "This machine is new, or its journal was restored, and the hub did not answer at the start. What is recorded now may \
                 have to be told apart from what the hub has: start again once it answers, before much is done.",
            ),
            (
                "look which",
                "Two benches have taken the same garment while one of them could not reach the hub. Nobody was refused: look where it \
                 lies, and answer the line with ? at any bench that asks.",
            ),
            (
                "IS CANCELLED FOR ALL STATIONS",
                "The bench that laid a shared order has cancelled it, and garments of it are open here: take the order off that the line \
                 names, and say what becomes of those under way.",
            ),
            (
                "TOO MANY OF",
                "Benches make more of a shared order than it asks for: the hub went back to an older state, as at a fail-over, and granted \
                 what was granted before. Nobody was refused: agree who makes fewer, and take them off that bench's order.",
            ),
            (
                "ARE NOT BEGUN",
                "The hub has granted garments of a shared order to this bench, which lacks something to make them: the line says what. \
                 They are taken in by themselves once it is there. The lead sees them as granted and not begun.",
            ),
            (
                "status",
                "`dwell hub status` says the same on a station, and why; `--json` for a machine.",
            ),
        ],
    ),
    (
        "Garments, the lead, the owner",
        &[
            (
                "a garment goes to another bench",
                "Nobody keys a hand-over. Whoever has the garment in hand scans or types its tag; the board says what the bench that kept \
                 it knew of it, and `+` takes it over. That bench hears of it by itself. Without the hub the step and the recipe are \
                 said by hand, and the move is marked as not confirmed.",
            ),
            (
                "an order for all benches",
                "`shared` in the order's form, or `shared: true` in its file, lays an order that every bench may take garments of; the one \
                 that lays it makes none of it by itself. NEXT says TAKE with the order once nothing of the bench's own goes before it; the \
                 list of orders has it under `+`: which line, how many, `+`. The hub grants them, so that no two benches make the same \
                 ones, and from then on they are an order of that bench, with tags of its own. Without the hub nothing is taken, and the \
                 bench's own orders go on. What is taken off such an order before it was begun, others may take. \
                 A rank or a due time that is changed at any bench that has to do with it holds for all; of two benches that did not \
                 hear of each other the same one counts everywhere, and the other is told. The bench that laid it can cancel it for all: each bench says what becomes of its part.",
            ),
            (
                "dwell hub",
                "All benches on one screen for the lead, from any machine: what runs, what is late, what is away, what wants a hand. \
                 `--address` where there is no station; `dwell hub add-reader NAME` makes a role that can only read.",
            ),
            (
                "--hub",
                "`trace`, `past`, `shelf`, `pace`, `report`, `compare` and `plan` answer over all stations with it; `pace`, `report` and \
                 `compare` add up what can be added. A lot's recall names station and order.",
            ),
        ],
    ),
    (
        "Care",
        &[
            (
                "a second server",
                "Streaming replication, by `pg_basebackup -R` as PostgreSQL's own manual tells it. After a fail-over let the address lead to \
                 the new primary: an address may name both, `postgres://one,two/dwell`. A standby that lagged lacks some rows; each station \
                 compares and sends what is missing.",
            ),
            (
                "backups",
                "`pg_basebackup` with archived write-ahead logs, or `pg_dump` each night. A dump that is put back is older than the stations: \
                 they find that out and send the rest. Run `dwell hub prepare` on it first: a dump brings no rights of functions along.",
            ),
            (
                "how it grows",
                "About 330 MB a million events with their indexes. A rehearsed day of 120 garments makes about 1,070 events. What many shops \
                 would take stands below.",
            ),
            (
                "a station's machine is replaced",
                "The same id, profile and password file on the new one: its start fetches the whole history back from the hub, checks it and \
                 begins a new life. The old machine is refused from then on.",
            ),
            (
                "a newer program",
                "The owner runs `dwell hub prepare` of the newest version first, then the stations are updated one by one: an older station \
                 goes on as long as the hub takes its writing.",
            ),
        ],
    ),
];
