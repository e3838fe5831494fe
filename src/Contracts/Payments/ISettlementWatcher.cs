namespace Contracts.Payments;

/// <summary>Learns of every cent that moves between what waits and what is owed.</summary>
internal interface ISettlementWatcher
{
    /// <summary>Waiting money, or goodwill, pays an item; a negative amount opens it again.</summary>
    void Settled(ChargeItem item, Money amount, bool goodwill);
}
