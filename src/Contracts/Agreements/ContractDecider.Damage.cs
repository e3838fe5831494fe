using Contracts.History;

namespace Contracts.Agreements;

/// <summary>A damaged unit: what the family is told a repair costs, and the label that brings the unit back. Neither moves a figure.</summary>
public static partial class ContractDecider
{
    private static Decision ReportDamage(Situation now, ContractCommand.ReportDamage c)
    {
        if (now.Account.HasEnded) { return Forbidden(now, "reported damaged"); }
        if (c.Estimate is { } estimate && NotPositive(estimate, "estimate") is { } refusal) { return Refuse(refusal); }
        var covered = now.Account.PlanElected;
        return Accept(new ContractEvent.DamageReported(now.Account.Serial, c.Description, covered, covered ? Money.Zero : c.Estimate) { On = now.On });
    }

    private static Decision IssueLabel(Situation now, ContractCommand.IssueLabel c) =>
        (c.Serial == now.Account.Serial && !now.Account.HasEnded) || IsDueBack(now, c.Serial)
            ? Accept(new ContractEvent.LabelIssued(c.Serial, c.Carrier, c.Reference) { On = now.On })
            : Refuse(RefusalCode.UnitNotDueBack, $"The unit '{c.Serial}' is not with this family on {Iso(now.On)}.", "serial");

    /// <summary>Why a swap cannot follow a damage report, or null. Nobody finds out what a repair costs after the other unit went out.</summary>
    private static Refusal? DamageFault(Situation now, string? damage)
    {
        if (damage is null) { return null; }
        var told = now.History.Facts.FirstOrDefault(fact => fact.Key == damage && fact.Event is ContractEvent.DamageReported && fact.Event.On <= now.On)?.Event
            as ContractEvent.DamageReported;
        if (told is null || told.Serial != now.Account.Serial)
        {
            return new Refusal(RefusalCode.DamageUnknown, $"No damage to '{now.Account.Serial}' was reported as {damage} by {Iso(now.On)}.", "damage");
        }

        return told.RepairFee is null
            ? new Refusal(
                RefusalCode.RepairFeeNotTold, "The family has no plan, and the report says no repair fee that it was told; report the damage with an `estimate` first.", "damage")
            : null;
    }

    /// <summary>Whether a swap made the unit due back and nothing says since that it came.</summary>
    private static bool IsDueBack(Situation now, string serial)
    {
        var due = false;
        foreach (var fact in now.History.Facts)
        {
            if (fact.Event.On > now.On) { break; }
            if (now.Account.IsOvertaken(fact.Sequence)) { continue; }
            due = fact.Event switch
            {
                ContractEvent.InstrumentSwapped e when e.Outgoing == serial => true,
                ContractEvent.UnitReceived e when e.Serial == serial => false,
                _ => due,
            };
        }

        return due;
    }
}
