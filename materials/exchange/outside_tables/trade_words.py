"""Words of trade and office in other languages, by what they say; without accents, small.

German, French, Spanish, Italian, Portuguese and Dutch. Common practice, no published source.
"""

from typing import Final

# By field, as headings of columns.
HEADINGS: Final[dict[str, str]] = {
    "date": (
        "datum|tag|kaufdatum|gekauft am|belegdatum|rechnungsdatum|jour|date d achat|achete le"
        "|fecha|dia|fecha de compra|data|giorno|data acquisto|data d acquisto|data da compra"
        "|data de compra|dag|aankoopdatum|besteldatum"
    ),
    "supplier": (
        "handler|haendler|lieferant|verkaufer|geschaft|laden|woher|fournisseur|vendeur|magasin"
        "|proveedor|vendedor|tienda|fornitore|venditore|negozio|fornecedor|loja|leverancier"
        "|verkoper|winkel|firma"
    ),
    "receipt": (
        "beleg|belegnummer|rechnung|rechnungsnummer|rechnungsnr|quittung|bon|facture|recu|ticket"
        "|no facture|factura|recibo|fattura|ricevuta|scontrino|fatura|nota fiscal|factuur"
        "|factuurnummer|kassabon"
    ),
    "item": (
        "artikel|bezeichnung|ware|werkstoff|baustoff|beschreibung|gegenstand|was|article"
        "|designation|materiel|materiau|materiaux|libelle|articulo|descripcion|concepto|producto"
        "|articolo|descrizione|materiale|materiali|artigo|descricao|produto|omschrijving"
        "|materiaal|product|benaming"
    ),
    "quantity": (
        "menge|anzahl|stuckzahl|stuck|quantite|qte|nombre|cantidad|cant|quantita|qta|numero"
        "|quantidade|qtd|qtde|quant|hoeveelheid|aantal"
    ),
    "unit": "einheit|mengeneinheit|me|eh|unite|unidad|ud|unita|um|u m|unidade|un|eenheid|eenh",
    "unit_price": (
        "stuckpreis|einzelpreis|preis je stuck|preis pro stuck|preis stuck|preis einheit|ep"
        "|preis|prix unitaire|pu|prix|prix piece|precio unitario|precio|precio ud|p unitario"
        "|prezzo unitario|prezzo|preco unitario|preco|stukprijs|eenheidsprijs|prijs per stuk"
        "|prijs|stuksprijs"
    ),
    "total": (
        "gesamt|gesamtpreis|summe|betrag|kosten|gp|bezahlt|netto|montant|prix total|montant ht"
        "|total ht|ht|cout|importe|precio total|coste|costo|importo|totale|prezzo totale|valor"
        "|preco total|valor total|custo|bedrag|totaal|totaalprijs|kostprijs"
    ),
    "gross": (
        "brutto|bruttobetrag|gesamt brutto|inkl mwst|preis inkl mwst|ttc|montant ttc|total ttc"
        "|prix ttc|con iva|iva incluido|total con iva|con iva incluida|ivato|iva inclusa"
        "|totale ivato|lordo|com iva|iva incluida|total com iva|incl btw|bedrag incl btw|bruto"
    ),
    "source": "herkunft|zustand|provenance|etat|procedencia|estado|provenienza|stato|proveniencia"
    "|herkomst|staat",
    "state": "lieferstatus|stand|statut|situacion|situacao|leverstatus",
    "paid_by": (
        "bezahlt von|zahler|gezahlt von|wer zahlt|paye par|payeur|pagado por|quien pago|pagador"
        "|pagato da|chi paga|chi ha pagato|pago por|quem pagou|betaald door|betaler"
    ),
    "tax": "mwst|ust|umsatzsteuer|mehrwertsteuer|steuer|tva|taxe|iva|impuesto|imposta|imposto|btw",
    "haulage": (
        "fracht|lieferung|lieferkosten|versand|transportkosten|livraison|frais de port|port"
        "|envio|transporte|portes|flete|consegna|trasporto|spedizione|entrega|frete|levering"
        "|bezorging|bezorgkosten|verzending|vervoer"
    ),
    "discount": "rabatt|nachlass|skonto|remise|rabais|descuento|sconto|desconto|korting",
    "distance": "strecke|entfernung|kilometer|distancia|distanza|afstand|trajet",
    "note": (
        "bemerkung|bemerkungen|anmerkung|notiz|hinweis|remarque|remarques|commentaire|nota|notas"
        "|observacion|observaciones|comentario|osservazioni|commento|observacao|observacoes"
        "|opmerking|opmerkingen|notitie"
    ),
    "element": "bauteil|gewerk|element|lot|ouvrage|elemento|partida|capitulo|onderdeel|bouwdeel",
    "contents": "inhalt|gebinde|contenance|contenu|contenido|contenuto|conteudo|inhoud",
    "waste": "verschnitt|chute|chutes|perte|desperdicio|merma|sfrido|scarto|snijverlies|afval",
    "person": (
        "wer|arbeiter|helfer|mitarbeiter|qui|personne|ouvrier|quien|persona|trabajador|chi"
        "|operaio|quem|pessoa|trabalhador|wie|persoon|helper|naam|nombre"
    ),
    "task": (
        "arbeit|aufgabe|tatigkeit|tache|travail|tarea|trabajo|lavoro|compito|attivita|tarefa"
        "|trabalho|atividade|taak|werk|klus"
    ),
    "labour": "art der arbeit|type de travail|tipo de trabajo|tipo di lavoro|soort werk",
    "hours": "stunden|std|zeit|heures|h|horas|ore|uren|tijd|duree|dauer",
    "paid": "lohn|salaire|salario|jornal|paga|retribuzione|loon|bezahlt",
}
# As units of a quantity: what the word is proposed to mean.
UNITS: Final[dict[str, str]] = {
    word: symbol
    for symbol, words in {
        "piece": (
            "stk|stck|st|stuck|stuks|piece|pieces|pce|pces|pz|pezzi|pezzo|peca|pecas|pza|pzas"
            "|pieza|piezas|ud|uds|unidad|unidades|unidade|un|und|unita|stuk"
        ),
        "m": "metro|metros|metri|lfm|lfdm|laufmeter|strekkende meter",
        "sq m": "qm|quadratmeter|metre carre|metros cuadrados|mq|metri quadri|vierkante meter",
        "cu m": "cbm|kubikmeter|metre cube|metros cubicos|mc|metri cubi|kubieke meter",
        "bag": "sack|sacke|sac|sacs|saco|sacos|sacco|sacchi|zak|zakken",
        "roll": "rolle|rollen|rouleau|rouleaux|rollo|rollos|rotolo|rotoli|rolo|rolos|rol",
        "box": "karton|kartons|kiste|boite|boites|caja|cajas|scatola|scatole|caixa|caixas|doos",
        "sheet": "platte|platten|tafel|tafeln|plaque|plaques|plancha|planchas|lastra|lastre"
        "|chapa|chapas|plaat|platen",
        "L": "litro|litros|litri",
        "kg": "kilo|kilos|kilogramm|chilo|chili",
        "pack": "paket|pakete|paquet|paquets|paquete|pacco|pacchi|pacote|pacotes|pak|pakken",
    }.items()
    for word in words.split("|")
}  # fmt: skip
# As answers in a column of sources.
SOURCES: Final[dict[str, str]] = {
    "salvage": "abriss|abbruch|bergung|recuperation|recup|demolition|derribo|recuperado|recupero"
    "|demolizione|demolicao|sloop|hergebruik|wiederverwendet|gerettet",
    "second-hand": "gebraucht|occasion|usado|usada|segunda mano|usato|tweedehands|gebruikt",
    "given": "geschenkt|gratuit|regalado|regalato|oferecido|gekregen",
    "seconds": "zweite wahl|2 wahl|second choix|segunda|seconda scelta|tweede keus",
    "retail": "laden|handel|magasin|tienda|negozio|loja|winkel",
    "new": "neu|neuf|neuve|nuevo|nueva|nuovo|nuova|novo|nova|nieuw",
}
