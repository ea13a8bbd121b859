"""Trade words and the traits they suggest: common practice, without a published source."""

from typing import Final

from materials.calc.safety.types import Trait

T: Final = Trait

# Phrases by what they say; those without a trait say nothing and hide the words in them.
PHRASES: Final[tuple[tuple[tuple[Trait, ...], str], ...]] = (
    (
        (),
        """glass block|butcher block|sanding block|engine block|terminal block|pulley block
        block and tackle|block out|wood block|brick mold|brick mould|brick tie|cement board
        concrete board|concrete form|metal stud|steel stud|wheel stud|steel joist|bar joist
        metal joist|steel beam|concrete beam|i beam|laser beam|light beam|metal truss|steel truss
        composite decking|plastic lumber|heat treated|heat treatment|fire retardant treated
        gas valve|valve cover|valve box|solar shade|solar screen|solar light|solar tube
        aa battery|aaa battery|wood flooring|hardwood flooring|oak flooring
        maple flooring|pine flooring|fir flooring|laminate flooring|bamboo flooring|cork flooring
        engineered flooring|ceramic floor tile|porcelain floor tile|window well|window shade
        window blind|window box|window screen|window unit|window fan|window ac
        window air conditioner|window trim|sash cord|sash weight|solvent free|fuel can|gasoline can
        vinyl siding|metal siding|steel siding|aluminum siding|siding nail|door hardware|door knob
        doorknob|door lock|door handle|door sweep|door stop|door bell|doorbell|door closer
        door mat|door glass|door seal|door chime|garage door spring|steel door|metal door
        shower door|glass door|fire door|door buzzer|backer board|gypsum board|insulation board
        fiber board|particle board|white board|cutting board|drawing board|peg board|ironing board
        electrical cabinet|file cabinet|filing cabinet|cabinet hardware|cabinet knob|cabinet pull
        well casing|pipe casing|vinyl trim|metal trim|pvc trim|fence post|sign post|lamp post
        light post|bed post|steel post|metal post|t post|post cap|post base|post hole|post light
        shower header|lead acid|lead time|lead free|lead wire|dog lead|asbestos free
        breaker bar|circuit board|nail free|nail hole|screw hole|bolt hole""",
    ),
    (
        (T.LUMBER,),
        "lumber|timber|plank|decking",
    ),
    (
        (T.LUMBER, T.FINISH),
        """floorboard|barn board|floor board|deck board|fence board|pallet board|pine board
        oak board|cedar board|fir board|sawn board""",
    ),
    (
        (T.FINISH,),
        """board|siding|clapboard|weatherboard|shiplap|beadboard|wainscot|wainscoting|wood paneling
        door|trim|molding|moulding|baseboard|casing|fascia|soffit|shutter|mantel|banister|railing
        baluster|newel post|stair tread|porch column|cabinet|board and batten|tongue and groove""",
    ),
    (
        # What is framed with: whether a partition or a wall that carries, its name does not tell.
        (T.LUMBER, T.LOAD_BEARING),
        """stud|post|header|sill plate|top plate|ledger board|framing lumber|two by four|two by six
        two by eight|two by ten|two by twelve|joist|rafter|girder|purlin|truss|beam|glulam
        roof timber|floor timber""",
    ),
    ((T.LOAD_BEARING,), "load bearing|loadbearing|structural"),
    (
        (T.UNGRADED,),
        """ungraded|unstamped|no stamp|no grade stamp|no grade mark|without stamp
        without grade stamp|not graded|not stamped""",
    ),
    ((T.LUMBER, T.UNGRADED), "rough sawn|rough cut lumber|roughsawn"),
    (
        (T.PAINTED,),
        "painted|repainted|lead paint|peeling paint|flaking paint|chipped paint"
        "|chipping paint|paint peeling|paint flaking|paint chipping",
    ),
    ((T.UNPAINTED,), "unpainted|never painted|not painted|no paint|without paint|bare wood"),
    ((T.WINDOW,), "window|sash"),
    (
        (T.TREATED,),
        """treated|penta|pentachlorophenol|cca|acza|creosote|creosoted|arsenical|copper arsenate
        chromated copper arsenate|pressure treated|landscape timber|pt lumber|pt post""",
    ),
    (
        (T.LUMBER, T.TREATED),
        "pt #|# pt",
    ),
    (
        # Two marks stand for a framing size, one for that of a board.
        (T.LUMBER, T.LOAD_BEARING, T.TREATED),
        "pt ##|## pt",
    ),
    (
        (T.POLE_OR_TIE, T.TREATED),
        """railroad tie|railway tie|rail tie|rr tie|crosstie|crossties|railway sleeper
        railroad sleeper|creosote tie|creosoted tie|treated tie|utility pole|telephone pole
        power pole|creosote pole|creosoted pole|treated pole|penta pole|cca pole""",
    ),
    (
        (T.FOAM, T.INSULATION),
        """foam board|foamboard|foam panel|foam sheet|foam sheathing|rigid foam|foam insulation
        insulation foam|rigid insulation|xps|eps|polyiso|polyisocyanurate|polystyrene
        extruded polystyrene|expanded polystyrene|styrofoam""",
    ),
    (
        (T.FOAM, T.SPRAY_FOAM, T.INSULATION),
        "spray foam|sprayfoam|spray polyurethane foam|spray foam insulation",
    ),
    (
        (T.INSULATION,),
        "insulation|batt|lagging|rock wool|rockwool|mineral wool|glass wool|vermiculite|pipe wrap",
    ),
    (
        (T.FLOORING,),
        """vinyl tile|vinyl asbestos tile|vinyl composition tile|vct|vinyl flooring|vinyl floor
        sheet vinyl|vinyl sheet|vinyl plank|linoleum|lino|asphalt tile|floor tile|flooring
        resilient flooring|asbestos tile""",
    ),
    (
        # Usual trade words, common practice; no published source lists them.
        (T.CEMENT_OR_CEILING,),
        """transite|asbestos|asbestos siding|asbestos cement|asbestos shingle|asbestos board
        cement asbestos|cement siding|cement shingle|cement shake|asbestos paper|asbestos pipe
        popcorn ceiling|popcorn texture|popcorn|ceiling texture|textured ceiling|sprayed ceiling
        acoustic ceiling|acoustical ceiling|acoustic tile|acoustical tile|ceiling tile
        acoustic plaster|acoustical plaster|fireproofing""",
    ),
    (
        (T.LEAD,),
        """lead flashing|lead sheet|sheet lead|lead roll|lead roof|lead roofing|lead came|lead boot
        lead apron|lead pan|lead gutter|lead wool|lead coated copper""",
    ),
    ((T.LEAD, T.PLUMBING), "lead pipe"),
    (
        (T.MASONRY,),
        """cmu|cmus|block|brick|firebrick|cinderblock|cinder block|concrete block|concrete|paver
        masonry|mortar|cobblestone""",
    ),
    (
        (T.ELECTRICAL,),
        """breaker|circuit breaker|panelboard|breaker panel|electrical panel|electric panel
        load center|breaker box|fuse box|gfci|afci|switchgear|receptacle|light switch
        transfer switch|disconnect switch|light fixture|meter base|transformer|inverter|romex
        nm cable|copper wire|electrical wire|wiring|electrical|conduit|electrical outlet""",
    ),
    (
        (T.SOLAR,),
        "solar panel|solar module|solar array|pv panel|pv module|pv array|photovoltaic",
    ),
    ((T.BATTERY,), "battery|battery bank|lifepo4"),
    (
        (T.PLUMBING,),
        """valve|faucet|spigot|hose bib|hose bibb|copper pipe|copper tubing|copper fitting
        brass fitting|pipe fitting|galvanized pipe|water pipe|water line|supply line|pex|solder
        plumbing""",
    ),
    ((T.DRINKING_WATER,), "drinking water|potable"),
    (
        (T.SOLVENT,),
        """paint thinner|lacquer thinner|mineral spirit|white spirit|turpentine|turps|naphtha
        acetone|xylene|toluene|methyl ethyl ketone|mek|denatured alcohol|solvent""",
    ),
    (
        (T.FUEL,),
        """gasoline|petrol|unleaded|unleaded gas|diesel|diesel fuel|kerosene|white gas|fuel oil
        heating oil|camp fuel""",
    ),
)
