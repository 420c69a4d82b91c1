//! Carrying an entry of the list to another place by its grip, with a mouse, a
//! pen or a finger. Where it would come to stand is marked; Escape ends it, and
//! so does whatever takes the pointer away.

use std::cell::RefCell;

use gloo::events::{EventListener, EventListenerOptions};
use gloo::timers::callback::Interval;
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, KeyboardEvent, PointerEvent};
use yew::Callback;

use crate::dom::{document, scroller, window};

/// Milliseconds between two looks at whether the list is to scroll.
const PACE: u32 = 30;
/// How near the edge of the list it scrolls, and how far each time, in pixels.
const EDGE: f64 = 28.0;
const STEP: f64 = 8.0;
/// How far a pointer goes before it carries: a finger never stands quite still.
const STILL: f64 = 4.0;

/// What is carried over an entry: the number of its sheet, that of the entry's,
/// and whether it is to stand after that.
type Put = (u64, u64, bool);

thread_local! {
    static CARRIED: RefCell<Option<Carry>> = const { RefCell::new(None) };
}

/// An entry on its way.
struct Carry {
    sheet: u64,
    pointer: i32,
    list: Element,
    /// How far down the window the grip was pressed, and where the pointer is, once
    /// it has moved.
    from: f64,
    y: Option<f64>,
    put: Callback<Put>,
    _listeners: [EventListener; 4],
    _scrolling: Interval,
}

/// Begins to carry the entry whose grip was pressed. `put` is told where it is
/// put down, if that is on another entry.
pub fn begin(event: &PointerEvent, put: &Callback<Put>) {
    let pressed: Option<Element> = event.target().and_then(|t| t.dyn_into().ok());
    let grip = pressed.and_then(|e| e.closest(".grip").ok().flatten());
    let item = grip.as_ref().and_then(entry_around);
    let (Some(grip), Some((sheet, item))) = (grip, item) else {
        return;
    };
    let Some(list) = item.parent_element() else {
        return;
    };
    if event.button() != 0 || !event.is_primary() {
        return;
    }
    end();
    // Where the pointer cannot be held, it is followed while it is over the page.
    let _ = grip.set_pointer_capture(event.pointer_id());
    let _ = item.class_list().add_1("carried");
    let carry = Carry {
        sheet,
        pointer: event.pointer_id(),
        list,
        from: f64::from(event.client_y()),
        y: None,
        put: put.clone(),
        _listeners: [
            listen("pointermove", moved),
            listen("pointerup", let_go),
            listen("pointercancel", taken_away),
            listen("keydown", key),
        ],
        _scrolling: Interval::new(PACE, scroll),
    };
    CARRIED.set(Some(carry));
}

fn listen(kind: &'static str, act: fn(&Event)) -> EventListener {
    let first = EventListenerOptions {
        phase: gloo::events::EventListenerPhase::Capture,
        passive: false,
    };
    EventListener::new_with_options(&window(), kind, first, act)
}

/// Whether this is the pointer that carries.
fn carries(event: &Event) -> bool {
    let id = event.unchecked_ref::<PointerEvent>().pointer_id();
    CARRIED.with_borrow(|carried| carried.as_ref().is_some_and(|c| c.pointer == id))
}

fn moved(event: &Event) {
    if carries(event) {
        let y = f64::from(event.unchecked_ref::<PointerEvent>().client_y());
        CARRIED.with_borrow_mut(|carried| {
            if let Some(carry) = carried
                && (carry.y.is_some() || (y - carry.from).abs() > STILL)
            {
                carry.y = Some(y);
            }
        });
        mark();
    }
}

fn let_go(event: &Event) {
    if !carries(event) {
        return;
    }
    let landing = landing();
    if let Some((carry, (onto, after, _))) = end().zip(landing) {
        carry.put.emit((carry.sheet, onto, after));
    }
}

fn taken_away(event: &Event) {
    if carries(event) {
        end();
    }
}

fn key(event: &Event) {
    if event.unchecked_ref::<KeyboardEvent>().key() == "Escape" {
        event.prevent_default();
        event.stop_propagation();
        end();
    }
}

/// Nothing is carried any more, and no place is marked.
fn end() -> Option<Carry> {
    unmark();
    unset("carried");
    CARRIED.take()
}

/// Marks where the entry would come to stand.
fn mark() {
    unmark();
    if let Some((_, after, item)) = landing() {
        let side = if after { "drop-after" } else { "drop-before" };
        let _ = item.class_list().add_1(side);
    }
}

fn unmark() {
    unset("drop-after");
    unset("drop-before");
}

fn unset(class: &str) {
    while let Some(item) = document().get_elements_by_class_name(class).item(0) {
        let _ = item.class_list().remove_1(class);
    }
}

/// The list, what is carried in it, and how far down the window the pointer is.
fn carried() -> Option<(Element, u64, f64)> {
    CARRIED.with_borrow(|carried| {
        let carry = carried.as_ref()?;
        Some((carry.list.clone(), carry.sheet, carry.y?))
    })
}

/// Scrolls the list while the pointer is near its edge, and the page where the
/// list goes on below or above the window.
fn scroll() {
    let Some((list, _, y)) = carried() else {
        return;
    };
    let area = list.get_bounding_client_rect();
    let height = scroller().map_or(f64::MAX, |page| page.get_bounding_client_rect().bottom());
    let (way, hidden) = if y < area.top().max(0.0) + EDGE {
        (-STEP, area.top() < 0.0)
    } else if y > area.bottom().min(height) - EDGE {
        (STEP, area.bottom() > height)
    } else {
        return;
    };
    let before = list.scroll_top();
    list.set_scroll_top(before + way as i32);
    if list.scroll_top() == before && hidden {
        scroller().inspect(|page| page.scroll_by_with_x_and_y(0.0, way));
    }
    mark();
}

/// Where the entry comes to stand if it is let go now: beside which entry, and
/// whether after it. `None` on itself.
fn landing() -> Option<(u64, bool, Element)> {
    let (list, sheet, y) = carried()?;
    let entries = list.children();
    let entries: Vec<Element> = (0..entries.length())
        .filter_map(|at| entries.item(at))
        .collect();
    let spans = entries.iter().map(|entry| {
        let area = entry.get_bounding_client_rect();
        (area.top(), area.bottom())
    });
    let (at, after) = beside(spans, y)?;
    let (onto, item) = entry_around(&entries[at])?;
    (onto != sheet).then_some((onto, after, item))
}

/// The span that a height lies in, from top to bottom, or the nearest to it, and
/// whether it is nearer to that one's end.
fn beside(spans: impl Iterator<Item = (f64, f64)>, y: f64) -> Option<(usize, bool)> {
    let mut last = None;
    for (at, (top, bottom)) in spans.enumerate() {
        last = Some((at, y > (top + bottom) / 2.0));
        if y < bottom {
            break;
        }
    }
    last
}

/// The entry that an element is part of, and the number of its sheet.
fn entry_around(element: &Element) -> Option<(u64, Element)> {
    let item = element.closest("[data-sheet]").ok()??;
    Some((item.get_attribute("data-sheet")?.parse().ok()?, item))
}

#[cfg(test)]
mod tests {
    use super::beside;

    #[test]
    fn an_entry_lands_beside_the_one_under_the_pointer() {
        let at = |y| beside([(10.0, 20.0), (20.0, 40.0)].into_iter(), y);
        assert_eq!(at(0.0), Some((0, false)), "above all");
        assert_eq!(at(14.0), Some((0, false)));
        assert_eq!(at(16.0), Some((0, true)));
        assert_eq!(at(22.0), Some((1, false)));
        assert_eq!(at(99.0), Some((1, true)), "below all");
        assert_eq!(beside([].into_iter(), 5.0), None);
    }
}
