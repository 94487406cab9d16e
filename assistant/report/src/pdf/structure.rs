//! What the marks on the pages belong to, for those who have a PDF read out: headings, paragraphs, lists, tables and
//! figures in the order in which they are read (ISO 14289-1, PDF/UA-1). What belongs to nothing, such as a rule, is an
//! artifact.

use krilla::tagging::{
    Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagKind, TagTree,
};
use std::num::NonZeroU16;

/// What an element is.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pdf) enum Role {
    /// The title of all.
    Title(String),
    Heading(String),
    Paragraph,
    List,
    Item,
    /// What stands before an item: its number, its name, a dash.
    Label,
    Body,
    /// A table, and what it is.
    Table(String),
    Row,
    ColumnHead,
    Cell,
    /// A drawing or a picture, and what it tells.
    Figure(String),
}

/// An element of the structure, by its number.
pub(in crate::pdf) type Element = usize;

/// The elements, in the order in which they are read.
#[derive(Debug, Default)]
pub(in crate::pdf) struct Structure {
    /// Each with what it is part of.
    elements: Vec<(Role, Option<Element>)>,
    /// Those that are being filled, the outermost first.
    open: Vec<Element>,
}

impl Structure {
    /// A part of what is being filled.
    pub fn add(&mut self, role: Role) -> Element {
        self.add_to(self.open.last().copied(), role)
    }

    pub fn add_to(&mut self, parent: Option<Element>, role: Role) -> Element {
        self.elements.push((role, parent));
        self.elements.len() - 1
    }

    /// The same, which is filled from now on.
    pub fn begin(&mut self, role: Role) {
        let element = self.add(role);
        self.open.push(element);
    }

    pub fn end(&mut self) {
        self.open.pop();
    }

    /// What is being filled.
    pub fn current(&self) -> Option<Element> {
        self.open.last().copied()
    }

    pub fn len(&self) -> usize {
        self.elements.len()
    }

    /// As the library takes it, with the content of each element.
    pub fn tree(self, mut content: Vec<Vec<Identifier>>) -> TagTree {
        content.resize(self.elements.len(), Vec::new());
        let mut children: Vec<Vec<Node>> = content
            .into_iter()
            .map(|own| own.into_iter().map(Node::from).collect())
            .collect();
        let mut tree = TagTree::new();
        // A part comes after what it is part of, so each is complete once all later ones are put where they belong.
        for (element, (role, parent)) in self.elements.into_iter().enumerate().rev() {
            let mut own = std::mem::take(&mut children[element]);
            // Parts were put there last first, behind the element's own content.
            let parts = own.iter().position(|it| matches!(it, Node::Group(_)));
            let parts = parts.unwrap_or(own.len());
            own[parts..].reverse();
            let group = Node::from(TagGroup::with_children(tag(role), own));
            match parent {
                Some(parent) => children[parent].push(group),
                None => tree.push(group),
            }
        }
        tree.children.reverse();
        tree
    }
}

fn tag(role: Role) -> TagKind {
    let level = |level| NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN);
    match role {
        Role::Title(text) => Tag::Hn(level(1), Some(text)).into(),
        Role::Heading(text) => Tag::Hn(level(2), Some(text)).into(),
        Role::Paragraph => Tag::P.into(),
        Role::List => Tag::L(ListNumbering::None).into(),
        Role::Item => Tag::LI.into(),
        Role::Label => Tag::Lbl.into(),
        Role::Body => Tag::LBody.into(),
        Role::Table(tells) => Tag::Table.with_summary(Some(tells)).into(),
        Role::Row => Tag::TR.into(),
        Role::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        Role::Cell => Tag::TD.into(),
        Role::Figure(tells) => Tag::Figure(Some(tells)).into(),
    }
}
