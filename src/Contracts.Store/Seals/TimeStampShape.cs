using System.Formats.Asn1;

namespace Contracts.Store.Seals;

/// <summary>
/// What of a token (CMS SignedData, RFC 5652, 5.1) no signature covers, held to the one form that says nothing of its own: the digest
/// algorithms listed at the head are the signer's, and there are no revocation lists.
/// </summary>
internal static class TimeStampShape
{
    private const string SignedData = "1.2.840.113549.1.7.2";
    private const string Content = "1.2.840.113549.1.9.16.1.4";

    /// <summary>Whether the token has that form; throws where it is not DER.</summary>
    public static bool IsPlain(byte[] token)
    {
        var outer = new AsnReader(token, AsnEncodingRules.DER);
        var info = outer.ReadSequence();
        outer.ThrowIfNotEmpty();
        if (info.ReadObjectIdentifier() != SignedData) { return false; }
        var holder = info.ReadSequence(new Asn1Tag(TagClass.ContextSpecific, 0));
        info.ThrowIfNotEmpty();
        var data = holder.ReadSequence();
        holder.ThrowIfNotEmpty();
        if (!data.TryReadInt32(out var version) || version != 3) { return false; }
        var digests = data.ReadSetOf();
        var listed = digests.ReadEncodedValue();
        digests.ThrowIfNotEmpty();
        var content = data.ReadSequence();
        if (content.ReadObjectIdentifier() != Content) { return false; }
        if (data.PeekTag() == new Asn1Tag(TagClass.ContextSpecific, 0, isConstructed: true)) { data.ReadEncodedValue(); }
        if (data.PeekTag() == new Asn1Tag(TagClass.ContextSpecific, 1, isConstructed: true)) { return false; }
        var signers = data.ReadSetOf();
        data.ThrowIfNotEmpty();
        var signer = signers.ReadSequence();
        signers.ThrowIfNotEmpty();
        if (!signer.TryReadInt32(out version)) { return false; }

        // The version says how the certificate is named, and so cannot be anything else (RFC 5652, 5.3).
        if (version != (signer.PeekTag() == Asn1Tag.Sequence ? 1 : 3)) { return false; }
        signer.ReadEncodedValue();
        return signer.ReadEncodedValue().Span.SequenceEqual(listed.Span);
    }
}
