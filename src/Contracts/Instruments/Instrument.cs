namespace Contracts.Instruments;

/// <summary>An instrument as a contract names it.</summary>
/// <param name="Kind">The trade's name for it, such as clarinet.</param>
/// <param name="Serial">The serial number; at most one open contract holds it.</param>
/// <param name="Condition">new or used.</param>
/// <param name="Cost">What the shop paid for it, when known.</param>
/// <param name="RetailValue">The average price for cash in the area, where the state's act asks for it.</param>
/// <param name="EarlierRents">All rents paid on it under earlier contracts, where the state's act asks for them.</param>
/// <param name="SchoolUse">Whether it is meant mainly for elementary or secondary school use; null when nobody said.</param>
/// <param name="Location">Where it is kept, in words, where the state's act asks for that.</param>
public sealed record Instrument(
    string Kind, string Serial, string? Condition, Money? Cost, Money? RetailValue = null, Money? EarlierRents = null, bool? SchoolUse = null,
    string? Location = null);

/// <summary>An accessory sold with the contract: a stand, reeds, a case cover.</summary>
public sealed record Accessory(string Description, Money Price);
