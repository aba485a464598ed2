//! The server: on this machine's loopback alone, one thread a request, until it
//! is done, left alone or stopped.

mod files;
mod guard;
mod http;
mod routes;

use std::io;
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError, Weak};
use std::time::{Duration, Instant};

use crate::facts::caught;

use super::session::Session;
use files::Files;
use guard::Guard;
use http::Request;
pub use http::Response;
use routes::{Desk, Served};

/// A request that takes longer to come is given up.
const PATIENCE: Duration = Duration::from_secs(20);
/// Requests served at the same time; more are turned away.
const MOST_AT_ONCE: usize = 32;
/// How often it is seen whether the review is to end.
const LOOK: Duration = Duration::from_millis(200);

/// How a review ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The photographer said that it is done; the results are written.
    Done,
    /// Nobody asked for anything for so long.
    Idle,
    /// It was stopped from outside.
    Stopped,
}

/// Stops a review from outside, as with Ctrl-C.
#[derive(Debug, Clone, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// The review is to end.
    pub fn now(&self) {
        self.0.store(true, Ordering::SeqCst);
    }
}

/// A server that stands and does not serve yet.
#[derive(Debug)]
pub struct Server {
    listener: TcpListener,
    guard: Guard,
}

impl Server {
    /// Takes a free port of 127.0.0.1.
    ///
    /// # Errors
    /// When there is none, or the system gives no random numbers.
    pub fn bind() -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?;
        let guard = Guard::new(listener.local_addr()?.port()).map_err(io::Error::other)?;
        Ok(Self { listener, guard })
    }

    /// The address to open, with the key.
    pub fn address(&self) -> String {
        self.guard.address()
    }

    /// Serves the session until it ends. After `idle` without a request it ends on its own.
    ///
    /// # Errors
    /// When the listener cannot be shared.
    pub fn run(self, session: Session, idle: Duration, stop: &Stop) -> io::Result<(Session, Ended)> {
        let files = Files::of(&session);
        let desk = Arc::new(Desk { session: Mutex::new(session), files });
        let (tell, told) = channel();
        let at = self.listener.local_addr()?;
        let closing = Arc::new(AtomicBool::new(false));
        let accept = {
            let (desk, closing) = (Arc::clone(&desk), Arc::clone(&closing));
            std::thread::spawn(move || accept(&self.listener, &Arc::new(self.guard), &desk, &tell, &closing))
        };
        let mut last = Instant::now();
        let ended = loop {
            match told.recv_timeout(LOOK) {
                Ok(true) => break Ended::Done,
                Ok(false) => last = Instant::now(),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break Ended::Stopped,
            }
            if stop.0.load(Ordering::SeqCst) {
                break Ended::Stopped;
            }
            if last.elapsed() >= idle {
                break Ended::Idle;
            }
        };
        closing.store(true, Ordering::SeqCst);
        // Wakes the one that waits for connections.
        let _ = TcpStream::connect(at);
        let _ = accept.join();
        let mut desk = desk;
        let desk = loop {
            match Arc::try_unwrap(desk) {
                Ok(desk) => break desk,
                // An answer is still on its way; it is kept before anything else is done.
                Err(shared) => desk = shared,
            }
            std::thread::sleep(Duration::from_millis(5));
        };
        Ok((desk.session.into_inner().unwrap_or_else(PoisonError::into_inner), ended))
    }
}

fn accept(listener: &TcpListener, guard: &Arc<Guard>, desk: &Arc<Desk>, tell: &Sender<bool>, closing: &AtomicBool) {
    let busy = Arc::new(AtomicUsize::new(0));
    for stream in listener.incoming().filter_map(Result::ok) {
        if closing.load(Ordering::SeqCst) {
            return;
        }
        if busy.load(Ordering::SeqCst) >= MOST_AT_ONCE {
            continue;
        }
        busy.fetch_add(1, Ordering::SeqCst);
        let (guard, desk, tell, busy) = (Arc::clone(guard), Arc::downgrade(desk), tell.clone(), Arc::clone(&busy));
        std::thread::spawn(move || {
            // A reader that has gone is no fault; a fault of the program costs its request alone.
            let _ = caught(|| one(stream, &guard, &desk, &tell));
            busy.fetch_sub(1, Ordering::SeqCst);
        });
    }
}

/// Serves one request. Browsers open connections and say nothing on them: these do not hold the desk.
fn one(mut stream: TcpStream, guard: &Guard, desk: &Weak<Desk>, tell: &Sender<bool>) {
    let _ = stream.set_read_timeout(Some(PATIENCE));
    let _ = stream.set_write_timeout(Some(PATIENCE));
    let _ = stream.set_nodelay(true);
    let request = match Request::read(&mut stream) {
        Ok(Some(request)) => request,
        Ok(None) => {
            let _ = Response::refused(400, "no request").write(&mut stream, false);
            return;
        }
        Err(_) => return,
    };
    let head_only = request.method == "HEAD";
    let Served(response, done) = match guard.admit(&request) {
        Ok((path, query)) => {
            let Some(desk) = desk.upgrade() else { return };
            let _ = tell.send(false);
            desk.serve(&request, path, query)
        }
        Err(status) => Served(Response::refused(status, "not for you"), false),
    };
    let _ = response.write(&mut stream, head_only);
    if done {
        let _ = tell.send(true);
    }
}
