//! All findings, in one list.

use super::{
    FindingCode, Registration, idle_without_flush, output_above_element_limit, output_low, over_pressure,
    product_salinity_over_limit, reading_unreliable, salt_passage_up,
};

/// Every finding, in the order of its number.
pub const ALL: [&Registration; 7] = [
    &output_low::REGISTRATION,
    &salt_passage_up::REGISTRATION,
    &product_salinity_over_limit::REGISTRATION,
    &over_pressure::REGISTRATION,
    &output_above_element_limit::REGISTRATION,
    &reading_unreliable::REGISTRATION,
    &idle_without_flush::REGISTRATION,
];

/// The finding that people call by this name.
pub fn by_name(name: &str) -> Option<&'static Registration> {
    ALL.iter().copied().find(|registration| registration.name == name)
}

/// The registration of a finding.
pub fn of(code: FindingCode) -> &'static Registration {
    // The list is in the order of the numbers, which the test below holds to.
    ALL[code as usize - 1]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_in_the_order_of_the_numbers_and_names_are_unique() {
        for (index, registration) in ALL.iter().enumerate() {
            assert_eq!(registration.code as usize, index + 1, "{}", registration.name);
            assert_eq!(of(registration.code).name, registration.name);
            assert_eq!(by_name(registration.name).map(|found| found.code), Some(registration.code));
        }
    }
}
