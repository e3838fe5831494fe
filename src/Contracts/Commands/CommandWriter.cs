using System.Diagnostics;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Instruments;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Commands;

/// <summary>
/// Writes a command on one contract as a line of a command file (docs/interface.md). What is written is read back by
/// <see cref="CommandReader"/> as the same command.
/// </summary>
public static class CommandWriter
{
    /// <summary>The line: what is done, its key, who and why where that is said, the contract and the day, then the command's own fields.</summary>
    public static JsonObject Line(Command.OnContract command)
    {
        var line = new JsonObject { ["do"] = Name(command.Body), ["key"] = command.Origin.Key };
        Put(line, "by", command.Origin.By);
        Put(line, "reason", command.Origin.Reason);
        line["contract"] = command.Contract;
        line["on"] = Iso(command.On);
        Fields(line, command.Body);
        return line;
    }

    /// <summary>What a line calls a command, such as <c>pay</c>.</summary>
    public static string Name(ContractCommand command) => command switch
    {
        ContractCommand.Sign => "sign",
        ContractCommand.Deliver => "deliver",
        ContractCommand.Pay => "pay",
        ContractCommand.ReversePayment => "reverse-payment",
        ContractCommand.Refund => "refund",
        ContractCommand.Credit => "credit",
        ContractCommand.ElectPlan => "elect-plan",
        ContractCommand.CancelPlan => "cancel-plan",
        ContractCommand.Swap => "swap",
        ContractCommand.ReportDamage => "report-damage",
        ContractCommand.IssueLabel => "issue-label",
        ContractCommand.OpenDispute => "open-dispute",
        ContractCommand.AttachPaper => "attach-paper",
        ContractCommand.AnswerDispute => "answer-dispute",
        ContractCommand.CloseDispute => "close-dispute",
        ContractCommand.ReceiveUnit => "receive-unit",
        ContractCommand.Exchange => "exchange",
        ContractCommand.Return => "return",
        ContractCommand.Buy => "buy",
        ContractCommand.Waive => "waive",
        ContractCommand.Move => "move",
        ContractCommand.ReportLoss => "report-loss",
        ContractCommand.Hold => "hold",
        ContractCommand.Release => "release",
        ContractCommand.Reinstate => "reinstate",
        ContractCommand.StepUp => "step-up",
        ContractCommand.SpendCredit => "spend-credit",
        ContractCommand.WriteOff => "write-off",
        ContractCommand.Recover => "recover",
        ContractCommand.Issue => "issue",
        _ => throw new UnreachableException($"No name for {command.GetType().Name}."),
    };

    private static void Fields(JsonObject line, ContractCommand command)
    {
        switch (command)
        {
            case ContractCommand.Sign c: Sign(line, c); break;
            case ContractCommand.Pay c: Money(line, c.Amount, c.Method, c.Reference); break;
            case ContractCommand.Buy c: Money(line, c.Amount, c.Method, c.Reference); break;
            case ContractCommand.ReversePayment c: (line["payment"], line["code"]) = (c.Payment, c.Code); break;
            case ContractCommand.Refund c: line["amount"] = c.Amount.ToString(); break;
            case ContractCommand.Credit c: line["amount"] = c.Amount.ToString(); break;
            case ContractCommand.WriteOff c: line["amount"] = c.Amount.ToString(); break;
            case ContractCommand.Recover c: line["amount"] = c.Amount.ToString(); break;
            case ContractCommand.Swap c:
                (line["serial"], line["returnBy"]) = (c.Serial, Iso(c.ReturnBy));
                Put(line, "damage", c.Damage);
                break;
            case ContractCommand.ReportDamage c:
                line["description"] = c.Description;
                Put(line, "estimate", c.Estimate?.ToString());
                break;
            case ContractCommand.Deliver c: Put(line, "deliveredOn", c.DeliveredOn is { } day ? Iso(day) : null); break;
            case ContractCommand.IssueLabel c: (line["serial"], line["carrier"], line["reference"]) = (c.Serial, c.Carrier, c.Reference); break;
            case ContractCommand.OpenDispute c:
                (line["dispute"], line["claim"], line["says"]) = (c.Dispute, c.Claim, c.Says);
                Put(line, "about", c.About);
                break;
            case ContractCommand.AttachPaper c: (line["dispute"], line["title"], line["digest"]) = (c.Dispute, c.Title, c.Digest); break;
            case ContractCommand.AnswerDispute c: (line["dispute"], line["finding"], line["says"]) = (c.Dispute, c.Finding, c.Says); break;
            case ContractCommand.CloseDispute c: (line["dispute"], line["outcome"]) = (c.Dispute, c.Outcome); break;
            case ContractCommand.Hold c: Put(line, "ground", c.Ground); break;
            case ContractCommand.ReceiveUnit c: line["serial"] = c.Serial; break;
            case ContractCommand.Exchange c:
                (line["instrument"], line["terms"], line["accessories"]) = (Unit(c.Instrument), TermsWriter.Terms(c.Terms), Accessories(c.Accessories));
                break;
            case ContractCommand.Return c: Put(line, "condition", c.Condition); break;
            case ContractCommand.Waive c: line["fee"] = c.Fee; break;
            case ContractCommand.Move c: (line["state"], line["jurisdiction"]) = (c.State, c.Jurisdiction); break;
            case ContractCommand.ReportLoss c:
                line["kind"] = c.Kind;
                Put(line, "marketValue", c.MarketValue?.ToString());
                break;
            case ContractCommand.Reinstate c: Put(line, "serial", c.Serial); break;
            case ContractCommand.StepUp c:
                line["share"] = c.Share.ToString();
                line["sale"] = Sale(c.Description, c.SalePrice);
                break;
            case ContractCommand.SpendCredit c: (line["amount"], line["sale"]) = (c.Amount.ToString(), Sale(c.Description, c.SalePrice)); break;
            case ContractCommand.Issue c:
                line["kind"] = c.Kind.Word();
                Put(line, "for", c.For);
                break;
            default: break; // The day says all.
        }
    }

    private static void Sign(JsonObject line, ContractCommand.Sign c)
    {
        line["household"] = c.Household;
        line["instrument"] = Unit(c.Instrument);
        (line["state"], line["jurisdiction"], line["startOn"]) = (c.State, c.Jurisdiction, Iso(c.StartOn));
        (line["terms"], line["accessories"], line["planElected"]) = (TermsWriter.Terms(c.Terms), Accessories(c.Accessories), c.WithPlan);
        if (c.StartsAtDelivery) { line["startsAtDelivery"] = true; }
        Put(line, "shop", c.Shop);
        Put(line, "quote", c.Quote);
    }

    private static JsonObject Sale(string description, Money price) => new() { ["description"] = description, ["price"] = price.ToString() };

    private static void Money(JsonObject line, Money amount, string method, string? reference)
    {
        (line["amount"], line["method"]) = (amount.ToString(), method);
        Put(line, "reference", reference);
    }

    private static JsonObject Unit(Instrument unit)
    {
        var json = new JsonObject { ["kind"] = unit.Kind, ["serial"] = unit.Serial };
        Put(json, "condition", unit.Condition);
        Put(json, "cost", unit.Cost?.ToString());
        Put(json, "retailValue", unit.RetailValue?.ToString());
        Put(json, "earlierRents", unit.EarlierRents?.ToString());
        if (unit.SchoolUse is { } school) { json["schoolUse"] = school; }
        Put(json, "location", unit.Location);
        return json;
    }

    private static JsonArray Accessories(IEnumerable<Accessory> accessories) =>
        [.. accessories.Select(one => new JsonObject { ["description"] = one.Description, ["price"] = one.Price.ToString() })];

    private static void Put(JsonObject json, string field, string? text)
    {
        if (text is not null) { json[field] = text; }
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
