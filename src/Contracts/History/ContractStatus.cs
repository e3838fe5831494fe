namespace Contracts.History;

/// <summary>Where a contract stands at the end of a day.</summary>
public enum ContractStatus
{
    Signed,
    Active,
    OnHold,
    Returned,
    Owned,
    SteppedUp,
    Lost,
    Cancelled,
}
