//! Pictures of the demo boards, for developers: `PICTURES=folder cargo test --test checks pictures`.

use crate::support::recorder::{self, BASE, CARTRIDGE};

#[test]
fn pictures() {
    let Some(folder) = std::env::var_os("PICTURES") else { return };
    let folder = std::path::PathBuf::from(folder);
    let boards = [recorder::draw(&BASE), recorder::draw(&CARTRIDGE), recorder::rerouted().0];
    for board in boards {
        let name = format!("{}-{}", board.name, board.revision);
        std::fs::write(folder.join(format!("{name}.svg")), board.svg(&[])).expect("the folder is there");
        for layer in &board.stack.layers {
            std::fs::write(folder.join(format!("{name}-{layer}.svg")), board.svg(&[layer])).expect("written");
        }
        println!("{name} {:#?} {:?}", board.too_close(0.1), board.torn());
    }
}
