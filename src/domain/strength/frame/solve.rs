//! Assembling, factorising once, and solving for as many loads as there are.

use super::{
    beam::{Element, Local, Twelve},
    envelope::{Envelope, Singular, order},
    model::{BeamLoad, Frame, FrameFault, Load, Six, Support},
    vector::{V3, add, cross, halves, six, sub},
};

const MOTIONS: [&str; 6] =
    ["slide along x", "slide along y", "slide along z", "turn about x", "turn about y", "turn about z"];

/// A frame with its factors: one for each way of supporting it.
pub struct Solver<'a> {
    frame: &'a Frame,
    elements: Vec<Element>,
    /// Each beam's two end transformations.
    ends: Vec<[[[f64; 6]; 6]; 2]>,
    /// Equation of each node's six freedoms; none where it is held.
    equations: Vec<[Option<usize>; 6]>,
    factors: Envelope,
}

/// What a load does. Forces act on the frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Of each node: mm and radians along the frame's axes.
    pub moved: Vec<Six>,
    /// On both ends of each beam, in its own axes: N and N mm.
    pub ends: Vec<Twelve>,
    /// Of each node's held freedoms; zero elsewhere.
    pub held: Vec<Six>,
    /// Of each support, along its direction, all its places together.
    pub supports: Vec<f64>,
    /// The largest force (or moment) that is left over at a free freedom of a node or in the sum of loads and reactions, over the largest
    /// that acts.
    pub residual: f64,
}

impl<'a> Solver<'a> {
    /// # Errors
    /// A wrong index or figure, or a frame that can move freely.
    pub fn new(frame: &'a Frame) -> Result<Self, FrameFault> {
        frame.validate()?;
        let elements: Vec<Element> = frame.beams.iter().map(|beam| Element::of(frame, beam)).collect();
        let ends: Vec<_> =
            frame.beams.iter().zip(&elements).map(|(beam, element)| element.end_matrices(beam)).collect();
        let place = order(&neighbours(frame));
        let mut by_place: Vec<usize> = (0..frame.nodes.len()).collect();
        by_place.sort_by_key(|&node| place[node]);
        let mut equations = vec![[None; 6]; frame.nodes.len()];
        let (mut count, mut owner) = (0, Vec::new());
        for node in by_place {
            for (dof, equation) in equations[node].iter_mut().enumerate() {
                if !frame.nodes[node].held[dof] {
                    *equation = Some(count);
                    owner.push((node, dof));
                    count += 1;
                }
            }
        }
        let groups = groups(frame);
        let mut first: Vec<usize> = (0..count).collect();
        for group in &groups {
            let all = || group.iter().flat_map(|&node| equations[node]).flatten();
            if let Some(least) = all().min() {
                all().for_each(|equation| first[equation] = first[equation].min(least));
            }
        }
        let mut factors = Envelope::new(first);
        let mut solver_sum = |nodes: &[usize], matrix: &dyn Fn(usize, usize) -> f64| {
            let freedoms: Vec<Option<usize>> = nodes.iter().flat_map(|&node| equations[node]).collect();
            for (i, row) in freedoms.iter().enumerate() {
                for (j, column) in freedoms.iter().enumerate() {
                    if let (Some(row), Some(column)) = (row, column)
                        && row <= column
                    {
                        let value = matrix(i, j);
                        if value != 0.0 {
                            factors.add(*row, *column, value);
                        }
                    }
                }
            }
        };
        for ((beam, element), t) in frame.beams.iter().zip(&elements).zip(&ends) {
            let global = to_frame(&element.stiffness, t);
            solver_sum(&[beam.ends[0].node, beam.ends[1].node], &|i, j| global[i][j]);
        }
        for link in &frame.links {
            let arms = link.nodes.map(|node| sub(link.place, frame.nodes[node].place));
            let rows = link_rows(arms);
            let sum = |i: usize, j: usize| (0..6).map(|k| link.stiffness[k] * rows[k][i] * rows[k][j]).sum();
            solver_sum(&link.nodes, &sum);
        }
        for (support, group) in frame.supports.iter().zip(&groups[frame.beams.len() + frame.links.len()..]) {
            let row = support_row(group, support);
            solver_sum(group, &|i, j| support.stiffness * row[i] * row[j]);
        }
        factors.factorise().map_err(|Singular(equation)| {
            let (node, dof) = owner[equation];
            FrameFault::Mechanism { node, motion: MOTIONS[dof] }
        })?;
        Ok(Self { frame, elements, ends, equations, factors })
    }

    pub fn frame(&self) -> &Frame {
        self.frame
    }

    pub fn element(&self, beam: usize) -> &Element {
        &self.elements[beam]
    }

    /// Equations, and values that the factors hold.
    pub fn size(&self) -> (usize, usize) {
        (self.factors.size(), self.factors.stored())
    }

    /// The load must suit the frame ([`Frame::validate_load`]).
    pub fn solve(&self, load: &Load) -> Solution {
        let frame = self.frame;
        let mut applied = vec![[0.0; 6]; frame.nodes.len()];
        let mut clamped: Vec<Twelve> = vec![[0.0; 12]; frame.beams.len()];
        for on in &load.nodes {
            let target = &mut applied[on.node];
            for (total, part) in target.iter_mut().zip(six(on.force, on.moment)) {
                *total += part;
            }
        }
        let mut given = applied.clone();
        for on in &load.beams {
            let (index, element) = (on.beam(), &self.elements[on.beam()]);
            let ends = element.held_ends(&frame.beams[index].stiffness, &Local::of(&element.axes, on));
            for (total, part) in clamped[index].iter_mut().zip(ends) {
                *total += part;
            }
        }
        for (beam, ends) in clamped.iter().enumerate() {
            if ends.iter().any(|force| *force != 0.0) {
                self.each_end(beam, ends, |node, dof, force| applied[node][dof] -= force);
            }
        }
        let mut x = vec![0.0; self.factors.size()];
        for (node, forces) in applied.iter().enumerate() {
            for (dof, force) in forces.iter().enumerate() {
                if let Some(equation) = self.equations[node][dof] {
                    x[equation] = *force;
                }
            }
        }
        self.factors.solve(&mut x);
        let moved: Vec<Six> = self
            .equations
            .iter()
            .map(|node| node.map(|equation| equation.map_or(0.0, |equation| x[equation])))
            .collect();
        self.follow_up(load, moved, &clamped, &mut given)
    }

    /// From the nodes' displacements to forces, and what is left over.
    fn follow_up(&self, load: &Load, moved: Vec<Six>, clamped: &[Twelve], given: &mut [Six]) -> Solution {
        let frame = self.frame;
        let mut ends = Vec::with_capacity(frame.beams.len());
        // `given` becomes the sum of all that acts on each node.
        for (index, beam) in frame.beams.iter().enumerate() {
            let mut local = [0.0; 12];
            for end in 0..2 {
                let u = &moved[beam.ends[end].node];
                for (row, t) in self.ends[index][end].iter().enumerate() {
                    local[6 * end + row] = (0..6).map(|dof| t[dof] * u[dof]).sum();
                }
            }
            let mut forces = clamped[index];
            for (force, row) in forces.iter_mut().zip(&self.elements[index].stiffness) {
                *force += row.iter().zip(local).map(|(k, u)| k * u).sum::<f64>();
            }
            self.each_end(index, &forces, |node, dof, force| given[node][dof] -= force);
            ends.push(forces);
        }
        for link in &frame.links {
            let arms = link.nodes.map(|node| sub(link.place, frame.nodes[node].place));
            let rows = link_rows(arms);
            for (row, stiffness) in rows.iter().zip(link.stiffness) {
                let stretch: f64 = (0..12).map(|i| row[i] * moved[link.nodes[i / 6]][i % 6]).sum();
                for (i, share) in row.iter().enumerate() {
                    given[link.nodes[i / 6]][i % 6] -= stiffness * stretch * share;
                }
            }
        }
        let mut supports = Vec::with_capacity(frame.supports.len());
        for support in &frame.supports {
            let travel: f64 = support
                .places
                .iter()
                .map(|place| {
                    let [shift, turn] = halves(moved[place.node]);
                    let here = add(shift, cross(turn, place.offset));
                    place.share * super::vector::dot(support.along, here)
                })
                .sum();
            let force = -support.stiffness * travel;
            for place in &support.places {
                let push = support.along.map(|part| part * force * place.share);
                let moment = cross(place.offset, push);
                for (total, part) in given[place.node].iter_mut().zip(six(push, moment)) {
                    *total += part;
                }
            }
            supports.push(force);
        }
        let mut held = vec![[0.0; 6]; frame.nodes.len()];
        let (mut left, mut most) = ([0.0f64; 2], [0.0f64; 2]);
        for (node, sum) in given.iter().enumerate() {
            for dof in 0..6 {
                if frame.nodes[node].held[dof] {
                    held[node][dof] = -sum[dof];
                } else {
                    left[dof / 3] = left[dof / 3].max(sum[dof].abs());
                }
            }
        }
        for forces in &ends {
            for (dof, force) in forces.iter().enumerate() {
                let kind = dof % 6 / 3;
                most[kind] = most[kind].max(force.abs());
            }
        }
        let sum = self.sum_of(load, &held, &supports);
        for part in 0..2 {
            left[part] = sum[part].iter().fold(left[part], |most, part| most.max(part.abs()));
        }
        let ratio = |part: usize| if most[part] > 0.0 { left[part] / most[part] } else { 0.0 };
        let residual = ratio(0).max(ratio(1));
        Solution { moved, ends, held, supports, residual }
    }

    /// Force and moment about the origin of loads and reactions together: nothing, in equilibrium.
    fn sum_of(&self, load: &Load, held: &[Six], supports: &[f64]) -> [V3; 2] {
        let frame = self.frame;
        let mut sum = [[0.0; 3]; 2];
        let mut count = |at: V3, force: V3, moment: V3| {
            sum[0] = add(sum[0], force);
            sum[1] = add(sum[1], add(moment, cross(at, force)));
        };
        for on in &load.nodes {
            count(frame.nodes[on.node].place, on.force, on.moment);
        }
        for on in &load.beams {
            let axes = &self.elements[on.beam()].axes;
            match *on {
                BeamLoad::Point { at, force, moment, .. } => count(axes.at(at), force, moment),
                BeamLoad::Line { .. } => {
                    for (at, force, _) in Local::of(axes, on).points() {
                        count(axes.at(at), axes.to_frame(force), [0.0; 3]);
                    }
                }
            }
        }
        for (node, forces) in frame.nodes.iter().zip(held) {
            let [force, moment] = halves(*forces);
            count(node.place, force, moment);
        }
        for (support, force) in frame.supports.iter().zip(supports) {
            for place in &support.places {
                let at = add(frame.nodes[place.node].place, place.offset);
                count(at, support.along.map(|part| part * force * place.share), [0.0; 3]);
            }
        }
        sum
    }

    /// Forces on a beam's ends as forces at its nodes.
    fn each_end(&self, beam: usize, local: &Twelve, mut at: impl FnMut(usize, usize, f64)) {
        for end in 0..2 {
            let node = self.frame.beams[beam].ends[end].node;
            let t = &self.ends[beam][end];
            let own = &local[6 * end..6 * end + 6];
            for dof in 0..6 {
                at(node, dof, t.iter().zip(own).map(|(row, force)| row[dof] * force).sum());
            }
        }
    }
}

/// Tᵀ k T, block by block.
fn to_frame(k: &[[f64; 12]; 12], t: &[[[f64; 6]; 6]; 2]) -> [[f64; 12]; 12] {
    let mut half = [[0.0; 12]; 12];
    for (i, row) in k.iter().enumerate() {
        for (j, value) in half[i].iter_mut().enumerate() {
            let block = &t[j / 6];
            *value = (0..6).map(|m| row[6 * (j / 6) + m] * block[m][j % 6]).sum();
        }
    }
    let mut full = [[0.0; 12]; 12];
    for (i, row) in full.iter_mut().enumerate() {
        let block = &t[i / 6];
        for (j, value) in row.iter_mut().enumerate() {
            *value = (0..6).map(|m| block[m][i % 6] * half[6 * (i / 6) + m][j]).sum();
        }
    }
    full
}

/// Stretch of a link in each of its six directions, by the twelve freedoms of its two nodes.
fn link_rows(arms: [V3; 2]) -> [[f64; 12]; 6] {
    let mut rows = [[0.0; 12]; 6];
    for (side, sign) in [(0, -1.0), (1, 1.0)] {
        for axis in 0..3 {
            let mut unit = [0.0; 3];
            unit[axis] = 1.0;
            let turn = cross(arms[side], unit);
            rows[axis][6 * side + axis] = sign;
            for k in 0..3 {
                rows[axis][6 * side + 3 + k] = sign * turn[k];
            }
            rows[axis + 3][6 * side + 3 + axis] = sign;
        }
    }
    rows
}

fn support_row(group: &[usize], support: &Support) -> Vec<f64> {
    let mut row = vec![0.0; 6 * group.len()];
    for place in &support.places {
        let Some(at) = group.iter().position(|&node| node == place.node) else { continue };
        let turn = cross(place.offset, support.along);
        for axis in 0..3 {
            row[6 * at + axis] += place.share * support.along[axis];
            row[6 * at + 3 + axis] += place.share * turn[axis];
        }
    }
    row
}

/// Nodes that share stiffness: of each beam, each link, each support; no node twice in one.
fn groups(frame: &Frame) -> Vec<Vec<usize>> {
    let beams = frame.beams.iter().map(|beam| beam.ends.map(|end| end.node).to_vec());
    let links = frame.links.iter().map(|link| link.nodes.to_vec());
    let supports = frame.supports.iter().map(|support| {
        let mut nodes: Vec<usize> = support.places.iter().map(|place| place.node).collect();
        nodes.sort_unstable();
        nodes.dedup();
        nodes
    });
    beams.chain(links).chain(supports).collect()
}

fn neighbours(frame: &Frame) -> Vec<Vec<usize>> {
    let mut of = vec![Vec::new(); frame.nodes.len()];
    for group in groups(frame) {
        for &node in &group {
            of[node].extend(group.iter().copied().filter(|&other| other != node));
        }
    }
    for others in &mut of {
        others.sort_unstable();
        others.dedup();
    }
    of
}
