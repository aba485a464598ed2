fn main() {
    println!("{}", spooltalk::VERSION);
}
