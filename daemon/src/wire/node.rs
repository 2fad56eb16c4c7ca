//! What a unit's node on the bus keeps over a restart.

use super::WireError;
use barrico_n2k::node::NodeState;
use serde::{Deserialize, Serialize};

/// State of a node.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NodeJson {
    /// Unique number of the NAME.
    pub unique_number: u32,
    /// Address used last.
    pub address: Option<u8>,
    /// Device instance, as set from the bus.
    pub device_instance: Option<u8>,
    /// System instance, as set from the bus.
    pub system_instance: Option<u8>,
    /// Installation descriptions, as set from the bus.
    pub installation_descriptions: [Option<String>; 2],
}

impl From<&NodeState> for NodeJson {
    fn from(state: &NodeState) -> Self {
        Self {
            unique_number: state.unique_number,
            address: state.address,
            device_instance: state.device_instance,
            system_instance: state.system_instance,
            installation_descriptions: state.installation_descriptions.clone(),
        }
    }
}

impl TryFrom<NodeJson> for NodeState {
    type Error = WireError;

    fn try_from(json: NodeJson) -> Result<Self, WireError> {
        // Numbers that are out of range are not taken by the node itself.
        Ok(Self {
            unique_number: json.unique_number,
            address: json.address,
            device_instance: json.device_instance,
            system_instance: json.system_instance,
            installation_descriptions: json.installation_descriptions,
        })
    }
}
