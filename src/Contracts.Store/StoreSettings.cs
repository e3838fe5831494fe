using Contracts.Papers;
using Contracts.Store.Vault;
using NodaTime;

namespace Contracts.Store;

/// <summary>What a store must know that is not in the database.</summary>
/// <param name="Zone">The shop's zone: it turns a recording moment into a recording date.</param>
/// <param name="SimulatedClock">Recording moments come with the commands. For tests and the demo.</param>
/// <param name="Press">What prints papers; a store without one issues none.</param>
/// <param name="Keys">The households' keys; a store without them can neither keep nor read personal data.</param>
public sealed record StoreSettings(DateTimeZone Zone, bool SimulatedClock, Press? Press = null, HouseholdKeys? Keys = null);
