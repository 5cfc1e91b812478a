"""Pressures and flows of a pipe network: one supply, loops, regulators, pumps, outlets that close when they run dry.

Statement. Every branch i carries a flow q_i from its tail to its head node and takes a loss l_i(q_i) that rises with
q_i. H is the potential p + rho·g·z. Branches are the links, one branch from each outlet to the open air, and one
branch from the supply's static pressure to the source node:

    link     f(Re)·L/D·rho/2·v|v| + K·rho/2·v|v| + factor·q|q| + threshold·tanh(q/q0)
             - shutoff + pump·sign(q)·|q|^m                                              = H_tail - H_head
    outlet   sign(q)·(|q|/coefficient)^(1/exponent)                                      = H_node - rho·g·z_node
    source   factor·sign(q)·|q|^n                                                        = static + rho·g·z - H_source
    node     sum of q in - sum of q out                                                  = fixed demand

Bounds stand as walls, l rising by 1e17 Pa for each m³/s beyond: no flow back through a pump, no more through a
regulated outlet than its nozzle gives at the set pressure. A regulator in a link is open, or active: then what lies
behind is a network of its own, fed at the set pressure, and to the rest a fixed demand, so that a regulator may not
lie in a loop. Which are active is found in rounds (_solve in batch.py).

As all losses rise, the flows are the one minimum of a convex function (the network's content: the sum of the
integrals of l_i) under the node equations, H being their multipliers. Newton's step on these equations, flows and
potentials together, needs one symmetric solve on the nodes, by elimination in an order of least degree: on a tree as
many steps as there are nodes. A line search on the content's slope makes it converge from any start. With fixed
demands alone, a tree needs no Newton. Source: Todini and Pilati's gradient method (1988), Cherry and Millar's content
(1951); both from memory.

An outlet cannot draw air in. Where the odd law above draws some in, the outlet is shut and the rest solved again:
shutting it lowers every pressure, so an outlet once shut stays shut, and the rounds end.

A network is prepared once (order of elimination, arrays); any number of draws of its uncertain values is then solved
in one compiled loop. A single solve is a batch of one.
"""

from rillwright.solvers.network.batch import BatchState, Draws, solve_batch
from rillwright.solvers.network.prepared import Prepared, prepare
from rillwright.solvers.network.single import NetworkState, solve_network

__all__ = ["BatchState", "Draws", "NetworkState", "Prepared", "prepare", "solve_batch", "solve_network"]
