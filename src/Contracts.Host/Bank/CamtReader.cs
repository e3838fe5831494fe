using System.Collections.Frozen;
using System.Globalization;
using System.Xml;
using System.Xml.Linq;
using System.Xml.Schema;
using Contracts.Agreements;
using Contracts.Bank;
using NodaTime;

namespace Contracts.Host.Bank;

/// <summary>
/// Reads ISO 20022 statements (camt.053) and advices (camt.054) entry by entry: a document type, an entity and anything outside the file are refused,
/// and no more than one entry is in memory. What the reader needs must be there; held against the whole schema is a file where one is given.
/// </summary>
internal sealed class CamtReader(Stream stream, string digest, NamesTwice names, XmlSchemaSet? schema = null) : IDisposable
{
    private const string Statement = "urn:iso:std:iso:20022:tech:xsd:camt.053.001.";
    private const string Advice = "urn:iso:std:iso:20022:tech:xsd:camt.054.001.";
    private const int Deepest = 40;
    private const int LongestEntry = 4 << 20;

    /// <summary>The versions of both messages that are read.</summary>
    public static readonly FrozenSet<string> Versions = FrozenSet.ToFrozenSet(["02", "04", "08"]);

    private readonly LimitedText text = new(stream, LongestEntry);
    private XNamespace space = "";
    private long number;

    /// <summary>The message the file is, such as <c>camt.053.001.08</c>; known once the first item was read.</summary>
    public string Form { get; private set; } = "";

    /// <summary>Everything in the file, in its order.</summary>
    /// <exception cref="MoneyFileException">The file is not what it says.</exception>
    public IEnumerable<FileItem> Read()
    {
        using var xml = Open();
        var statement = Begin(xml);
        var statements = 0;
        Next(xml);
        while (!xml.EOF)
        {
            if (xml.NodeType != XmlNodeType.Element)
            {
                Next(xml);
            }
            else if (xml.LocalName == statement)
            {
                statements++;
                var head = Head(xml, statement);
                yield return head.Begins;
                foreach (var item in Entries(xml, head)) { yield return item; }
            }
            else
            {
                Whole(xml, out _);
            }
        }

        if (statements == 0) { throw MoneyFileException.At(0, statement, "there is none in the file.", "ISO 20022"); }
    }

    public void Dispose() => text.Dispose();

    private XmlReader Open()
    {
        var settings = new XmlReaderSettings
        {
            DtdProcessing = DtdProcessing.Prohibit, XmlResolver = null, IgnoreComments = true, IgnoreProcessingInstructions = true, IgnoreWhitespace = true, CloseInput = true,
            MaxCharactersInDocument = 0,
        };
        if (schema is not null)
        {
            settings.ValidationType = ValidationType.Schema;
            settings.Schemas = schema;
            settings.ValidationEventHandler += (_, fault) => throw MoneyFileException.At(fault.Exception.LineNumber, "schema", fault.Message, "ISO 20022");
        }

        return XmlReader.Create(text, settings);
    }

    /// <summary>The element around the statements, after the root and the kind of message were looked at; answers what a statement is called.</summary>
    private string Begin(XmlReader xml)
    {
        if (!Next(xml)) { throw MoneyFileException.At(1, "file", "the file is empty."); }
        if (xml.NodeType == XmlNodeType.XmlDeclaration)
        {
            if (xml.GetAttribute("encoding") is { } encoding && !encoding.Equals("utf-8", StringComparison.OrdinalIgnoreCase))
            {
                throw MoneyFileException.At(1, "encoding", $"it says {encoding}; ISO 20022 messages are UTF-8.", "ISO 20022-4");
            }

            Next(xml);
        }

        var name = xml.NamespaceURI;
        var isStatement = name.StartsWith(Statement, StringComparison.Ordinal);
        var version = isStatement ? name[Statement.Length..] : name.StartsWith(Advice, StringComparison.Ordinal) ? name[Advice.Length..] : "";
        if (xml.LocalName != "Document" || !Versions.Contains(version))
        {
            throw MoneyFileException.At(
                Line(xml), xml.LocalName, $"a Document of camt.053.001 or camt.054.001 in version {string.Join(", ", Versions.Order())} is read, "
                + $"not {(name.Length == 0 ? "one without a namespace" : name)}.", "ISO 20022");
        }

        space = name;
        Form = $"camt.{(isStatement ? "053" : "054")}.001.{version}";
        var wanted = isStatement ? "BkToCstmrStmt" : "BkToCstmrDbtCdtNtfctn";
        return Next(xml) && xml.LocalName == wanted ? (isStatement ? "Stmt" : "Ntfctn")
            : throw MoneyFileException.At(Line(xml), xml.LocalName, $"{wanted} comes here.", "ISO 20022");
    }

    private sealed record StatementHead(FileItem.Begins Begins, bool AtEntry);

    /// <summary>What a statement says of itself, up to its first entry.</summary>
    private StatementHead Head(XmlReader xml, string statement)
    {
        var line = Line(xml);
        var total = new StatementTotal();
        var (name, account, atEntry) = ("", "", false);
        if (!xml.IsEmptyElement)
        {
            Next(xml);
            while (xml.NodeType == XmlNodeType.Element && xml.LocalName != "Ntry")
            {
                var part = Whole(xml, out var at);
                switch (part.Name.LocalName)
                {
                    case "Id": name = part.Value.Trim(); break;
                    case "Acct": account = (Find(part, "Id", "IBAN") ?? Find(part, "Id", "Othr", "Id"))?.Value.Trim() ?? ""; break;
                    case "Bal": Balance(part, at, total); break;
                    case "TxsSummry": Summary(part, at, total); break;
                    default: break;
                }
            }

            atEntry = xml.NodeType == XmlNodeType.Element;
        }

        if (name.Length == 0) { throw MoneyFileException.At(line, "Id", "the statement has no Id.", "ISO 20022"); }
        if (account.Length == 0) { throw MoneyFileException.At(line, "Acct/Id", "the statement names no account.", "ISO 20022"); }
        if (statement == "Stmt" && (total.Opening is null || total.Closing is null))
        {
            throw MoneyFileException.At(line, "Bal", "an opening (OPBD or PRCD) and a closing (CLBD) booked balance are needed to hold the lines against.", "ISO 20022");
        }

        return new StatementHead(new FileItem.Begins(name, account, total), atEntry);
    }

    private IEnumerable<FileItem> Entries(XmlReader xml, StatementHead head)
    {
        if (!head.AtEntry) { yield break; }
        while (xml.NodeType == XmlNodeType.Element)
        {
            if (xml.LocalName != "Ntry")
            {
                Whole(xml, out _);
                continue;
            }

            var entry = Whole(xml, out var line);
            var reading = new CamtEntry(entry, space, line, head.Begins.Account, () => ++number, digest, names);
            if (!reading.IsBooked)
            {
                head.Begins.Total.AddNotBooked(reading.Amount);
                yield return new FileItem.NotBooked($"line {line}");
                continue;
            }

            head.Begins.Total.Add(reading.Amount, reading.IsCredit);
            foreach (var one in reading.Lines()) { yield return new FileItem.Line(one); }
        }
    }

    private void Balance(XElement part, long line, StatementTotal total)
    {
        var code = Find(part, "Tp", "CdOrPrtry", "Cd")?.Value.Trim();
        if (code is not ("OPBD" or "PRCD" or "CLBD")) { return; }
        var amount = CamtEntry.AmountOf(part.Element(space + "Amt"), line, "Bal/Amt");
        var signed = CamtEntry.IsCreditOf(part, space, line, "Bal") ? amount : Money.Zero - amount;
        if (code == "CLBD") { total.Closing = signed; }
        else if (code == "OPBD" || total.Opening is null) { total.Opening = signed; }
    }

    private void Summary(XElement part, long line, StatementTotal total)
    {
        // Entries that are not booked are counted there too; only an advice has no balance to be held against instead.
        if (total.Closing is not null || Find(part, "TtlNtries") is not { } all) { return; }
        if (all.Element(space + "Sum") is { } sum) { total.SaidSum = CamtEntry.Number(sum.Value, line, "TxsSummry/TtlNtries/Sum"); }
        if (all.Element(space + "NbOfNtries") is { } count)
        {
            total.SaidLines = long.TryParse(count.Value, NumberStyles.None, CultureInfo.InvariantCulture, out var lines)
                ? lines
                : throw MoneyFileException.At(line, "TxsSummry/TtlNtries/NbOfNtries", $"'{count.Value}' is no number.", "ISO 20022");
        }
    }

    private XElement? Find(XElement? from, params ReadOnlySpan<string> path)
    {
        foreach (var name in path) { from = from?.Element(space + name); }
        return from;
    }

    /// <summary>One element with all that is in it; the reader stands after it.</summary>
    private XElement Whole(XmlReader xml, out long line)
    {
        line = Line(xml);
        var (at, name) = (line, xml.LocalName);
        return Guarded(() =>
        {
            text.Reset();
            var element = (XElement)XNode.ReadFrom(xml);
            return element.DescendantsAndSelf().Any(one => one.Ancestors().Count() > Deepest)
                ? throw MoneyFileException.At(at, name, $"elements stand more than {Deepest} deep in it.")
                : element;
        });
    }

    private bool Next(XmlReader xml) => Guarded(() =>
    {
        text.Reset();
        return xml.Read();
    });

    private static T Guarded<T>(Func<T> read)
    {
        try
        {
            return read();
        }
        catch (XmlException fault)
        {
            var dtd = fault.Message.Contains("DTD", StringComparison.Ordinal) || fault.Message.Contains("entity", StringComparison.OrdinalIgnoreCase);
            throw MoneyFileException.At(
                fault.LineNumber, dtd ? "DOCTYPE" : "file",
                dtd ? "a document type or an entity is never read: ISO 20022 messages have none, and it is a way to fill a machine's memory." : $"this is no XML: {fault.Message}",
                dtd ? "ISO 20022-4" : null);
        }
    }

    private static long Line(XmlReader xml) => xml is IXmlLineInfo info && info.HasLineInfo() ? info.LineNumber : 0;
}
