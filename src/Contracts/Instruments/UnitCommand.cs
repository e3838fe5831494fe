using System.Collections.Immutable;

namespace Contracts.Instruments;

/// <summary>The closed family of commands on one unit of the fleet; each has its event in <see cref="UnitEvent"/>, where the fields are explained.</summary>
public abstract record UnitCommand
{
    private UnitCommand() { }

    public sealed record Acquire(string Kind, string Condition, Money Cost, string? Supplier) : UnitCommand;

    public sealed record Inspect(string Checklist, ImmutableArray<InspectedItem> Results, string Inspector, bool Passed) : UnitCommand;

    public sealed record Grade(string Word) : UnitCommand;

    public sealed record Ship(string Contract, string Carrier, string Reference) : UnitCommand;

    public sealed record Deliver : UnitCommand;

    public sealed record SendToRepair(string Description, Money? Estimate) : UnitCommand;

    public sealed record FinishRepair(Money Cost) : UnitCommand;

    public sealed record Retire : UnitCommand;

    public sealed record Sell(Money Price) : UnitCommand;

    public sealed record ReportMissing : UnitCommand;

    public sealed record Restore : UnitCommand;
}
