using System.Diagnostics;

namespace Contracts.Agreements;

/// <summary>The command that a fact came from, so that it can be decided again.</summary>
public static class FactCommands
{
    /// <summary>The command of a fact; notes come from none, because terms and dates imply them.</summary>
    public static ContractCommand Of(ContractEvent fact) => fact switch
    {
        ContractEvent.Signed e => new ContractCommand.Sign(
            e.Household, e.Instrument, e.State, e.Jurisdiction, e.StartOn, e.Terms, e.Accessories, e.WithPlan, e.Shop, e.Quote)
            { StartsAtDelivery = e.StartsAtDelivery },
        ContractEvent.InstrumentDelivered e => new ContractCommand.Deliver(e.DeliveredOn),
        ContractEvent.PaymentReceived e => new ContractCommand.Pay(e.Amount, e.Method, e.Reference),
        ContractEvent.PaymentReversed e => new ContractCommand.ReversePayment(e.Payment, e.Code),
        ContractEvent.RefundIssued e => new ContractCommand.Refund(e.Amount),
        ContractEvent.CreditGiven e => new ContractCommand.Credit(e.Amount),
        ContractEvent.PlanElected => new ContractCommand.ElectPlan(),
        ContractEvent.PlanCancelled => new ContractCommand.CancelPlan(),
        ContractEvent.InstrumentSwapped e => new ContractCommand.Swap(e.Serial, e.ReturnBy, e.Damage),
        // Under the plan the estimate was not kept, because the family was told that it pays nothing.
        ContractEvent.DamageReported e => new ContractCommand.ReportDamage(e.Description, e.Covered ? null : e.RepairFee),
        ContractEvent.LabelIssued e => new ContractCommand.IssueLabel(e.Serial, e.Carrier, e.Reference),
        ContractEvent.DisputeOpened e => new ContractCommand.OpenDispute(e.Dispute, e.Claim, e.Says, e.About),
        ContractEvent.DisputePaperAttached e => new ContractCommand.AttachPaper(e.Dispute, e.Title, e.Digest),
        ContractEvent.DisputeAnswered e => new ContractCommand.AnswerDispute(e.Dispute, e.Finding, e.Says),
        ContractEvent.DisputeClosed e => new ContractCommand.CloseDispute(e.Dispute, e.Outcome),
        ContractEvent.UnitReceived e => new ContractCommand.ReceiveUnit(e.Serial),
        ContractEvent.InstrumentExchanged e => new ContractCommand.Exchange(e.Instrument, e.Terms, e.Accessories),
        ContractEvent.Returned e => new ContractCommand.Return(e.Condition),
        ContractEvent.BoughtEarly e => new ContractCommand.Buy(e.Amount, e.Method, e.Reference),
        ContractEvent.FeeWaived e => new ContractCommand.Waive(e.Fee),
        ContractEvent.Moved e => new ContractCommand.Move(e.State, e.Jurisdiction),
        ContractEvent.LossReported e => new ContractCommand.ReportLoss(e.Kind, e.MarketValue),
        ContractEvent.Held e => new ContractCommand.Hold(e.Ground),
        ContractEvent.Released => new ContractCommand.Release(),
        ContractEvent.Reinstated e => new ContractCommand.Reinstate(e.Serial),
        ContractEvent.SteppedUp e => new ContractCommand.StepUp(e.Share, e.Description, e.SalePrice),
        ContractEvent.MerchandiseCreditSpent e => new ContractCommand.SpendCredit(e.Amount, e.Description, e.SalePrice),
        ContractEvent.WrittenOff e => new ContractCommand.WriteOff(e.Amount),
        ContractEvent.Recovered e => new ContractCommand.Recover(e.Amount),
        _ => throw new UnreachableException($"No command brings {fact.GetType().Name} as its fact."),
    };
}
